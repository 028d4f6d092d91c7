import type { NestedVolume, SurveyedEntry } from "@rouse/core/volume";
import { useEffect, useState } from "react";
import { ToggleButton, ToggleButtonGroup } from "react-aria-components";
import { routeTo } from "../../app/route.ts";
import { api, sentenceOf } from "../../job/api.ts";
import type { FileView as Shown } from "../../job/types.ts";
import { Loading, Problem } from "../../parts/states.tsx";
import { bytesInWords, counted } from "../../parts/words.ts";
import { ConditionMark } from "./condition.tsx";
import { escapePart } from "./tree.ts";

type As = "text" | "hex";

/** A file: what the volume says of it, and its bytes as text or in hex. */
export function FileView({
  entry,
  nested,
  name,
  within,
}: {
  entry: SurveyedEntry;
  nested: readonly NestedVolume[];
  name: string;
  within: string;
}) {
  const part = escapePart(entry.path);
  const inner = nested.find(({ address }) => address === `${part}:`);
  const address = within + part;
  return (
    <section className="file" aria-labelledby="file-title">
      <header>
        <h3 id="file-title">{entry.path}</h3>
        <ConditionMark condition={entry.condition} />
        {entry.type === "file" && (
          <a className="button is-quiet" href={api.fileAddress(name, address)} download>
            Save to this computer
          </a>
        )}
      </header>
      <dl className="facts">
        <Fact label="Kind" value={entry.kind} />
        {entry.type === "file" && <Fact label="Size" value={bytesInWords(entry.size)} />}
        <Fact label="On the disk" value={counted(entry.blocks, "block")} />
        {entry.records && (
          <Fact label="Records" value={`${entry.records.count} of ${counted(entry.records.length, "byte")}`} />
        )}
        {entry.details.map(([label, value]) => (
          <Fact key={label} label={label} value={value} />
        ))}
      </dl>
      {inner && (
        <p className="inner">
          This file is itself a volume:{" "}
          <a href={routeTo(["images", name], { in: within + inner.address })}>look inside</a> ({inner.volume.format})
        </p>
      )}
      {entry.type === "file" && <Bytes name={name} address={address} />}
    </section>
  );
}

const Fact = ({ label, value }: { label: string; value: string }) => (
  <div>
    <dt>{label}</dt>
    <dd>{value}</dd>
  </div>
);

function Bytes({ name, address }: { name: string; address: string }) {
  const [wish, setWish] = useState<As | null>(null);
  const [views, setViews] = useState<Partial<Record<As, Shown>>>({});
  const [problem, setProblem] = useState<string | null>(null);
  // Until the person says otherwise, text is shown as text and the rest in hex.
  const as: As = wish ?? (views.text && !views.text.isText ? "hex" : "text");
  const view = views[as];

  useEffect(() => {
    let left = false;
    if (!view)
      api.file(name, address, as).then(
        (found) => {
          if (!left) setViews((before) => ({ ...before, [as]: found }));
        },
        (error: unknown) => {
          if (!left) setProblem(sentenceOf(error));
        },
      );
    return () => {
      left = true;
    };
  }, [name, address, as, view]);

  if (problem) return <Problem sentence={problem} />;
  return (
    <>
      <ToggleButtonGroup
        className="choice"
        aria-label="Show as"
        selectionMode="single"
        disallowEmptySelection
        selectedKeys={[as]}
        onSelectionChange={(keys) => setWish([...keys][0] === "hex" ? "hex" : "text")}
      >
        <ToggleButton id="text">Text</ToggleButton>
        <ToggleButton id="hex">Hex</ToggleButton>
      </ToggleButtonGroup>
      {!view && <Loading what="Reading the file…" />}
      {view && view.missing.length > 0 && (
        <p className="is-bad">
          Could not be read and is shown as zero bytes:{" "}
          {view.missing.map(({ offset, length }) => `${counted(length, "byte")} from ${offset}`).join("; ")}.
        </p>
      )}
      {view && view.size === 0 && <p className="quiet">The file is empty.</p>}
      {view?.text !== undefined && view.size > 0 && (
        // biome-ignore lint/a11y/noNoninteractiveTabindex: what is long is scrolled by keys
        <section className="bytes" tabIndex={0} aria-label="Text of the file">
          <pre>{view.text}</pre>
        </section>
      )}
      {view?.rows && view.size > 0 && (
        // biome-ignore lint/a11y/noNoninteractiveTabindex: what is long is scrolled by keys
        <section className="bytes" tabIndex={0} aria-label="Bytes of the file in hex">
          <pre>
            {view.rows
              .map(
                ({ offset, hex, text }) =>
                  `${offset.toString(16).toUpperCase().padStart(6, "0")}  ${hex.padEnd(47)}  ${text}`,
              )
              .join("\n")}
          </pre>
        </section>
      )}
      {view && view.shown < view.size && (
        <p className="quiet">
          The first {bytesInWords(view.shown)} of {bytesInWords(view.size)}; save the file to have the rest.
        </p>
      )}
    </>
  );
}
