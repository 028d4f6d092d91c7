import { printStretch } from "@rouse/core/show/clock";
import { useState } from "react";
import type { ExportKind, ExportWish } from "./types.ts";

const KINDS: readonly (readonly [ExportKind, string, string, string])[] = [
  ["html", "Page that plays it", "html", "text/html"],
  ["captions", "Captions (WebVTT)", "vtt", "text/vtt"],
  ["chapters", "Chapters (WebVTT)", "vtt", "text/vtt"],
  ["still", "Still of this moment (SVG)", "svg", "image/svg+xml"],
  ["text", "Plain text", "txt", "text/plain"],
];

/** Saves a text to this computer. */
function save(name: string, type: string, text: string): void {
  const address = URL.createObjectURL(new Blob([text], { type }));
  const link = document.createElement("a");
  link.href = address;
  link.download = name;
  link.click();
  // The browser has begun to read it by then.
  setTimeout(() => URL.revokeObjectURL(address), 10_000);
}

type By = "none" | NonNullable<ExportWish["mark"]>["by"];

/** A session as files: everything is made in this page. */
export function Exports({
  name,
  title: first,
  pace,
  moment,
  make,
}: {
  name: string;
  title: string;
  pace: Pick<ExportWish, "speed" | "longestWait">;
  moment: number;
  make: (wish: ExportWish) => Promise<string>;
}) {
  const [title, setTitle] = useState(first);
  const [by, setBy] = useState<By>("none");
  const [value, setValue] = useState("");
  const [seen, setSeen] = useState("");
  const [told, setTold] = useState<{ problem: boolean; sentence: string } | null>(null);
  const begin = async ([kind, , ending, type]: (typeof KINDS)[number]): Promise<void> => {
    setTold({ problem: false, sentence: "Making it…" });
    try {
      const mark = by === "none" ? null : { by, value, seen };
      const text = await make({ kind, title: title.trim() || name, ...pace, at: moment, mark });
      const file = `${name.replace(/\.jsonl$/i, "")}${ending === "vtt" ? `-${kind}` : ""}.${ending}`;
      save(file, type, text);
      setTold({ problem: false, sentence: `${file} is made, ${text.length.toLocaleString("en-GB")} characters.` });
    } catch (error) {
      setTold({ problem: true, sentence: error instanceof Error ? error.message : "It could not be made." });
    }
  };
  return (
    <section className="exports" aria-labelledby="exports-title">
      <h3 id="exports-title">Save it as</h3>
      <div className="fields">
        <label className="field">
          <span>Title</span>
          <input value={title} onChange={(event) => setTitle(event.target.value)} />
        </label>
        <label className="field">
          <span>The camera's clock, for captions and chapters</span>
          <select value={by} onChange={(event) => setBy(event.target.value as By)}>
            <option value="none">begins with the capture</option>
            <option value="clap">is found by a clap, noted in the capture</option>
            <option value="appears">is found by a text that appears</option>
            <option value="byte">is found by a byte that came in</option>
          </select>
        </label>
        {(by === "appears" || by === "byte") && (
          <label className="field">
            <span>{by === "byte" ? "Byte, counted from 0" : "Text, at its first appearance"}</span>
            <input value={value} onChange={(event) => setValue(event.target.value)} spellCheck={false} />
          </label>
        )}
        {by !== "none" && (
          <label className="field">
            <span>The camera saw it at</span>
            <input value={seen} placeholder="1:12.4" onChange={(event) => setSeen(event.target.value)} />
          </label>
        )}
      </div>
      <div className="buttons">
        {KINDS.map((kind) => (
          <button key={kind[0]} type="button" className="button is-quiet" onClick={() => void begin(kind)}>
            {kind[1]}
            {kind[0] === "still" && `, ${printStretch(moment)}`}
          </button>
        ))}
      </div>
      <p
        role={told?.problem ? "alert" : "status"}
        className={told?.problem ? "state is-problem" : "quiet"}
        data-testid="export-told"
      >
        {told?.sentence}
      </p>
    </section>
  );
}
