import type { Recording } from "@rouse/core/catalogue";
import type { Edges } from "@rouse/core/recording";
import { useEffect, useState } from "react";
import { ask, askBytes, sentenceOf } from "../../job/api.ts";
import type { ImageListed } from "../../job/types.ts";
import { Loading, Problem } from "../../parts/states.tsx";
import { bytesInWords } from "../../parts/words.ts";
import { type RecoverAnswer, recoverBeside } from "./recover.ts";
import { RecoveredView } from "./recovered-view.tsx";
import type { RecoverAsked } from "./types.ts";

/** As much as the server gives of a capture. */
const LARGEST = 64 * 1024 * 1024;

/** A sampled read line: chosen, recovered beside the page, and told. */
export function CaptureSection({
  recordings,
  chosen,
}: {
  recordings: readonly Recording[];
  /** The track that the rest of the page shows. */
  chosen: NonNullable<RecoverAsked["wish"]>;
}) {
  const [listed, setListed] = useState<readonly ImageListed[]>([]);
  const [source, setSource] = useState<{ name: string; bytes: Uint8Array } | null>(null);
  const [which, setWhich] = useState<"find" | "chosen">("find");
  const [edges, setEdges] = useState<Edges>("auto");
  const [decoder, setDecoder] = useState<RecoverAsked["decoder"]>("loop");
  const [answer, setAnswer] = useState<RecoverAnswer | null>(null);
  const [isBusy, setBusy] = useState(false);

  useEffect(() => {
    ask<readonly ImageListed[]>("captures").then(setListed, (error: unknown) =>
      setAnswer({ problem: sentenceOf(error) }),
    );
  }, []);
  // Where the track is to be found, another choice above changes nothing.
  const wish = which === "chosen" ? chosen : null;
  useEffect(() => {
    if (!source) return;
    setBusy(true);
    return recoverBeside({ bytes: source.bytes, recordings, wish, edges, decoder }, (found) => {
      setBusy(false);
      setAnswer(found);
    });
  }, [source, wish, edges, decoder, recordings]);

  const fromJob = async (name: string): Promise<void> => {
    setAnswer(null);
    setSource(null);
    if (name === "") return;
    try {
      setBusy(true);
      setSource({ name, bytes: await askBytes(`captures/${encodeURIComponent(name)}`) });
    } catch (error) {
      setBusy(false);
      setAnswer({ problem: sentenceOf(error) });
    }
  };
  const fromComputer = async (file: File | undefined): Promise<void> => {
    if (!file) return;
    setSource(null);
    setAnswer(
      file.size > LARGEST
        ? { problem: `${file.name} is larger than ${bytesInWords(LARGEST)}; that is no capture of one track.` }
        : null,
    );
    if (file.size <= LARGEST) setSource({ name: file.name, bytes: new Uint8Array(await file.arrayBuffer()) });
  };

  return (
    <section className="panel" aria-labelledby="capture-title">
      <h2 id="capture-title">A captured read signal</h2>
      <p className="lead">
        What a logic analyser sampled of a drive's read line over one turn or more: a value change dump (IEEE 1364), or
        a table of seconds and levels. It is worked on in this page and sent nowhere.
      </p>
      <div className="fields">
        <label className="field">
          <span>From the job's captures/</span>
          <select
            value={listed.some(({ name }) => name === source?.name) ? source?.name : ""}
            onChange={(event) => void fromJob(event.target.value)}
            disabled={listed.length === 0}
          >
            <option value="">{listed.length === 0 ? "none there" : "choose…"}</option>
            {listed.map(({ name, problem }) => (
              <option key={name} value={name} disabled={problem !== undefined}>
                {name}
              </option>
            ))}
          </select>
        </label>
        <label className="field">
          <span>Or from this computer</span>
          <input type="file" accept=".vcd,.csv,.txt" onChange={(event) => void fromComputer(event.target.files?.[0])} />
        </label>
        <Choice
          name="Recording and track"
          value={which}
          onChange={setWhich}
          options={[
            ["find", "find them"],
            ["chosen", "those chosen above"],
          ]}
        />
        <Choice
          name="Transitions are"
          value={edges}
          onChange={setEdges}
          options={[
            ["auto", "found by the pulses"],
            ["falling", "falling edges"],
            ["rising", "rising edges"],
            ["both", "both edges"],
          ]}
        />
        <Choice
          name="Read by"
          value={decoder}
          onChange={setDecoder}
          options={[
            ["loop", "a phase-locked loop"],
            ["fixed window", "a fixed window, to compare"],
          ]}
        />
      </div>
      {isBusy && <Loading what="Recovering the track…" />}
      {!isBusy && answer && "problem" in answer && <Problem sentence={answer.problem} />}
      {!isBusy && answer && "told" in answer && source && <RecoveredView told={answer.told} name={source.name} />}
    </section>
  );
}

function Choice<Value extends string>({
  name,
  value,
  options,
  onChange,
}: {
  name: string;
  value: Value;
  options: readonly (readonly [Value, string])[];
  onChange: (value: Value) => void;
}) {
  return (
    <label className="field">
      <span>{name}</span>
      <select value={value} onChange={(event) => onChange(event.target.value as Value)}>
        {options.map(([each, words]) => (
          <option key={each} value={each}>
            {words}
          </option>
        ))}
      </select>
    </label>
  );
}
