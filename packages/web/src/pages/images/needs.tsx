import type { Need } from "@rouse/core/system";
import { counted, hexOf, listed } from "../../parts/words.ts";

/** A need in one sentence. */
function needInWords(need: Need): { title: string; sentence: string } {
  switch (need.kind) {
    case "cpu":
      return { title: "CPU", sentence: `Code of the ${need.instructionSet}; it runs on ${listed(need.runsOn)}.` };
    case "memory":
      return {
        title: "Memory",
        sentence: `At least ${counted(need.bytes, "byte")}, ${counted(need.contiguous, "byte")} of it in one run${
          need.from === undefined
            ? ""
            : `, from ${hexOf(need.from)}${need.last === undefined ? "" : ` to ${hexOf(need.last)}`}`
        } (${need.computed}).`,
      };
    case "translation":
      return { title: "Address translation", sentence: need.sentence };
    case "drive": {
      const parts = [
        need.tracks === undefined ? undefined : counted(need.tracks, "track"),
        need.sides === undefined ? undefined : counted(need.sides, "side"),
        need.sectorsPerTrack === undefined ? undefined : `${counted(need.sectorsPerTrack, "sector")} a track`,
        need.zones && need.zones.length > 1 ? counted(need.zones.length, "zone") : undefined,
      ].filter((each) => each !== undefined);
      return {
        title: need.of === "image" ? "A drive for this disk" : `Drive ${need.name ?? ""}`,
        sentence: parts.length === 0 ? "Its size is not said." : `${listed(parts)}.`,
      };
    }
    case "files":
      return { title: "Record files", sentence: `${counted(need.count, "file")} with random access by record.` };
    case "port": {
      const parts = [
        `at ${hexOf(need.address)}`,
        need.rate === undefined ? undefined : `${need.rate.toLocaleString("en-GB")} bit/s`,
        need.frame,
      ].filter((each) => each !== undefined);
      return {
        title: `Port ${need.name}${need.console ? ", the first terminal" : ""}`,
        sentence: `${parts.join(", ")}${need.coding ? ` (${need.coding})` : ""}.`,
      };
    }
    case "screen": {
      const parts = [
        need.columns === undefined ? undefined : counted(need.columns, "column"),
        need.rows === undefined ? undefined : counted(need.rows, "row"),
      ].filter((each) => each !== undefined);
      return { title: "Screen", sentence: `${parts.length === 0 ? "Size not said" : listed(parts)}.` };
    }
    case "controls":
      return {
        title: "Control functions",
        sentence: `${listed(need.functions.map(({ name, times }) => `${name} (${counted(times, "time")})`))}.`,
      };
  }
}

/** What the system asks of the bench, each with where that is said. */
export function Needs({ needs }: { needs: readonly Need[] }) {
  if (needs.length === 0)
    return <p className="state">Nothing was found on this volume that asks anything of the bench.</p>;
  return (
    <ul className="needs">
      {needs.map((need, index) => {
        const { title, sentence } = needInWords(need);
        return (
          // biome-ignore lint/suspicious/noArrayIndexKey: the needs of a report keep their order
          <li key={index} className="card">
            <h3>{title}</h3>
            <p>{sentence}</p>
            {need.evidence.length > 0 && (
              <details>
                <summary>{counted(need.evidence.length, "place")} that say so</summary>
                <ul>
                  {need.evidence.map(({ file, offset, text }) => (
                    <li key={`${file} ${offset} ${text}`}>
                      <code>
                        {file}, {hexOf(offset)}
                      </code>{" "}
                      {text}
                    </li>
                  ))}
                </ul>
              </details>
            )}
          </li>
        );
      })}
    </ul>
  );
}
