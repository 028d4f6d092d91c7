import { useEffect, useState } from "react";
import { ask, sentenceOf } from "../../job/api.ts";
import { ScrollX } from "../../parts/scroll-x.tsx";
import { Loading, Problem } from "../../parts/states.tsx";
import { counted } from "../../parts/words.ts";
import type { BenchLines, CableTold } from "./types.ts";

const VARIANTS = [
  ["as described", "as the bench file describes it"],
  ["without handshake", "the smallest that works"],
  ["with handshake", "the smallest that works, with handshake"],
] as const;

/** A cable of the bench: its drawing to solder from, and what a continuity tester must say. */
export function Cable({ bench, hash }: { bench: BenchLines | null; hash: string | undefined }) {
  const [name, setName] = useState("");
  const [variant, setVariant] = useState<string>("as described");
  const [told, setTold] = useState<CableTold | null>(null);
  const [problem, setProblem] = useState<string | null>(null);
  // Drawn anew once the picture has its size, which decides whether its place scrolls.
  const [, setLoaded] = useState("");
  const chosen = bench?.cables.find((each) => each.name === name) ?? bench?.cables[0];
  const path = chosen && `line/cables/${encodeURIComponent(chosen.name)}`;
  const query = new URLSearchParams({ variant }).toString();
  // biome-ignore lint/correctness/useExhaustiveDependencies: asked again when the bench file changed
  useEffect(() => {
    if (!path) return;
    let left = false;
    setProblem(null);
    ask<CableTold>(`${path}?${query}`).then(
      (found) => !left && setTold(found),
      (error: unknown) => {
        if (left) return;
        setTold(null);
        setProblem(sentenceOf(error));
      },
    );
    return () => {
      left = true;
    };
  }, [path, query, hash]);

  if (!bench) return <Loading what="Looking at the bench…" />;
  if (bench.problem) return <Problem sentence={bench.problem} />;
  if (!chosen) return <p>The bench file describes no cable; add one under cables.</p>;
  const drawing = `/api/${path}/drawing?${query}&of=${hash ?? ""}`;
  return (
    <div className="line-tool">
      <div className="fields">
        <label className="field">
          <span>Cable</span>
          <select value={chosen.name} onChange={(event) => setName(event.target.value)}>
            {bench.cables.map((each) => (
              <option key={each.name} value={each.name}>
                {each.name}: {each.from} to {each.to}
              </option>
            ))}
          </select>
        </label>
        <label className="field">
          <span>Made</span>
          <select value={variant} onChange={(event) => setVariant(event.target.value)}>
            {VARIANTS.map(([value, words]) => (
              <option key={value} value={value}>
                {words}
              </option>
            ))}
          </select>
        </label>
      </div>
      {problem && <Problem sentence={problem} />}
      {told && !problem && (
        <>
          <ScrollX name="Drawing of the cable">
            <img
              className="line-drawing"
              src={drawing}
              onLoad={() => setLoaded(drawing)}
              alt={`Both plugs of ${chosen.name} from the wire side, contacts numbered, with ${counted(told.beep.length, "joint")}; the list below says the same.`}
            />
          </ScrollX>
          <p>
            <a href={drawing} download={`${chosen.name}.svg`}>
              Save the drawing
            </a>
          </p>
          {told.problems.map(({ grave, sentence }) => (
            <p key={sentence} className={grave ? "line-bad" : undefined}>
              <span aria-hidden="true">{grave ? "■" : "▲"}</span> {sentence}
            </p>
          ))}
          {told.problems.length === 0 && (
            <p className="line-good">● Data pass both ways, and the grounds are joined.</p>
          )}
          {told.reasons.length > 0 && (
            <ul className="line-list" aria-label="Why it is so">
              {told.reasons.map((each) => (
                <li key={each}>{each}</li>
              ))}
            </ul>
          )}
          <Continuity told={told} />
        </>
      )}
    </div>
  );
}

function Continuity({ told }: { told: CableTold }) {
  return (
    <div className="line-continuity">
      <section aria-labelledby="line-beep">
        <h3 id="line-beep">These must beep</h3>
        <p className="quiet">With the cable plugged in nowhere.</p>
        <ul className="line-list">
          {told.beep.map((contacts) => (
            <li key={contacts.join()}>
              <label className="tick">
                <input type="checkbox" />
                <span>{contacts.join(" – ")}</span>
              </label>
            </li>
          ))}
        </ul>
      </section>
      <section aria-labelledby="line-silent">
        <h3 id="line-silent">Once they do, these must not</h3>
        <p className="quiet">
          Hold one probe and touch each with the other. Between contacts without a wire, look for solder that joins
          neighbours. {counted(told.silentPairs, "pair")} must not beep in all.
        </p>
        <ul className="line-list">
          {told.silent.map(({ on, against }) => (
            <li key={on}>
              <label className="tick">
                <input type="checkbox" />
                <span>
                  <strong>{on}</strong> against {against}
                </span>
              </label>
            </li>
          ))}
        </ul>
      </section>
    </div>
  );
}
