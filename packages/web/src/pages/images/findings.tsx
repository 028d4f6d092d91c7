import type { Condition, Damage, SurveyedCandidate } from "@rouse/core/volume";
import { Button } from "react-aria-components";
import { counted } from "../../parts/words.ts";
import { ConditionMark, kindInWords } from "./condition.tsx";

/** What is wrong with the volume: whose blocks, how bad, what a repair would do. */
export function Damages({
  damages,
  condition,
  onBlock,
}: {
  damages: readonly Damage[];
  condition: Condition;
  onBlock: (block: number) => void;
}) {
  if (damages.length === 0)
    return (
      <p className="state">
        <ConditionMark condition={condition} /> Nothing is wrong with this volume that its own bookkeeping would show.
      </p>
    );
  return (
    <ol className="damages">
      {damages.map(({ code, condition: costs, sentence, blocks, blockCount, files, repair }) => (
        <li key={`${code} ${sentence}`} className="card">
          <ConditionMark condition={costs} />
          <h3>{sentence}</h3>
          {files.length > 0 && (
            <p>
              <strong>{files.length === 1 ? "File" : "Files"}:</strong> {files.join(", ")}
            </p>
          )}
          {blocks.length > 0 && (
            <p className="blocks">
              <strong>{counted(blockCount, "block")}:</strong>
              {blocks.slice(0, 24).map((block) => (
                <Button key={block} className="block" onPress={() => onBlock(block)} aria-label={`Show block ${block}`}>
                  {block}
                </Button>
              ))}
              {blockCount > 24 && <span className="quiet">and {blockCount - 24} more</span>}
            </p>
          )}
          <p>
            <strong>A repair would:</strong> {repair}
          </p>
        </li>
      ))}
    </ol>
  );
}

/** Ways the image could be read with what speaks for each, and what the volume says of itself. */
export function Evidence({
  candidates,
  facts = [],
  sha256,
}: {
  candidates: readonly SurveyedCandidate[];
  facts?: readonly (readonly [label: string, value: string])[];
  sha256?: string;
}) {
  return (
    <div className="evidence">
      {facts.length > 0 && (
        <section aria-labelledby="facts-title">
          <h3 id="facts-title">What the volume says of itself</h3>
          <dl className="facts">
            {facts.map(([label, value]) => (
              <div key={label}>
                <dt>{label}</dt>
                <dd>{value}</dd>
              </div>
            ))}
          </dl>
        </section>
      )}
      <section aria-labelledby="candidates-title">
        <h3 id="candidates-title">What speaks for each way to read it</h3>
        <ol className="candidates">
          {candidates.map(({ kind, format, score, evidence }) => (
            <li key={`${kind} ${format}`} className="card">
              <h4>
                {kindInWords(kind)}, {format}
              </h4>
              <p className="score">
                <meter min={0} max={1} value={score} aria-label="How strongly it speaks" />
                {Math.round(score * 100)} of 100
              </p>
              <ul>
                {evidence.map((each) => (
                  <li key={each}>{each}</li>
                ))}
              </ul>
            </li>
          ))}
        </ol>
      </section>
      {sha256 && (
        <p className="quiet">
          SHA-256 of these bytes: <code className="hash">{sha256}</code>
        </p>
      )}
    </div>
  );
}
