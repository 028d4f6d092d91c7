import { InputError } from "@rouse/core/errors";
import type { FullAnswer, MapState, MemoryMap } from "@rouse/core/memory";
import { parseAddress } from "@rouse/core/quantity";
import { useState } from "react";
import { VerdictMark } from "../../parts/verdict.tsx";
import { counted, hexOf, listed } from "../../parts/words.ts";

/** Who answers, in a few words: "window, bank 3, byte 24,867 of it, on main board". */
export function answerWords(answer: FullAnswer | undefined): string {
  if (!answer) return "nothing answers";
  const { region, kind, block, bank, offset, board, mirror, waits } = answer;
  return [
    `${region} (${kind})`,
    ...(block === undefined ? [] : [`physical block ${block}`]),
    ...(bank === undefined ? [] : [`bank ${bank}`]),
    `byte ${offset.toLocaleString("en-GB")} of it`,
    ...(board === undefined ? [] : [`on ${board}`]),
    ...(mirror ? ["a mirror"] : []),
    ...(waits > 0 ? [counted(waits, "wait state")] : []),
  ].join(", ");
}

const isSame = (a: FullAnswer | undefined, b: FullAnswer | undefined): boolean =>
  a !== undefined && b !== undefined && a.part === b.part && a.offset === b.offset;

/** The address that is looked at: typed here, or taken from the picture; who answers it, and which chip holds which bit. */
export function Answered({
  map,
  state,
  address,
  bit,
  onBit,
  onChoose,
}: {
  map: MemoryMap;
  state: MapState;
  address: number;
  bit: number | undefined;
  onBit: (bit: number | undefined) => void;
  onChoose: (address: number) => void;
}) {
  const [typed, setTyped] = useState<string | null>(null);
  const [wrong, setWrong] = useState<string | null>(null);
  const { read, write, clash, hidden, sets } = map.whoAnswers(state, address);
  const type = (text: string): void => {
    setTyped(text);
    try {
      const found = parseAddress(/^[0-9a-f]{1,4}$/i.test(text.trim()) ? `$${text.trim()}` : text);
      if (found > 0xffff) throw new InputError("bad-address", `${text} is beyond $FFFF, where a 16-bit address ends.`);
      setWrong(null);
      onChoose(found);
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      setWrong(text.trim() === "" ? null : error.message);
    }
  };
  const holds = (read ?? write)?.chips ?? [];
  return (
    <section className="panel" aria-labelledby="answer-title">
      <h2 id="answer-title">
        <span data-testid="address">{hexOf(address)}</span>
      </h2>
      <label className="field">
        <span>An address, in hexadecimal</span>
        <input
          value={typed ?? hexOf(address)}
          onChange={(event) => type(event.target.value)}
          onBlur={() => {
            setTyped(null);
            setWrong(null);
          }}
          spellCheck={false}
          autoComplete="off"
          maxLength={8}
          aria-invalid={wrong !== null}
          {...(wrong === null ? {} : { "aria-describedby": "address-wrong" })}
        />
      </label>
      {wrong && (
        <p id="address-wrong" role="alert">
          {wrong}
        </p>
      )}
      <dl className="shown-facts" data-testid="answer">
        {clash.length > 0 && (
          <div>
            <dt>
              <VerdictMark verdict="stops" />
            </dt>
            <dd>{listed(clash)} drive the bus against each other here.</dd>
          </div>
        )}
        {isSame(read, write) ? (
          <div>
            <dt>Read and write</dt>
            <dd>{answerWords(read)}</dd>
          </div>
        ) : (
          <>
            <div>
              <dt>Read</dt>
              <dd>{answerWords(read)}</dd>
            </div>
            <div>
              <dt>Write</dt>
              <dd>{answerWords(write)}</dd>
            </div>
          </>
        )}
        {sets.length > 0 && (
          <div>
            <dt>A write sets</dt>
            <dd>{listed(sets)}</dd>
          </div>
        )}
        {hidden.length > 0 && (
          <div>
            <dt>Lies over</dt>
            <dd>{listed(hidden)}</dd>
          </div>
        )}
      </dl>
      {holds.length > 0 && (
        <>
          <h3>Which chip holds which bit</h3>
          <div className="bits" data-testid="bits">
            {Array.from({ length: 8 }, (_, index) => 7 - index).map((each) => {
              const chip = holds.find(({ bits }) => bits.includes(each));
              const name = chip?.place ?? (chip ? `chip ${chip.index}` : "?");
              return (
                <button
                  key={each}
                  type="button"
                  className="bit"
                  aria-label={`bit ${each}, ${name}`}
                  aria-pressed={bit === each}
                  onClick={() => onBit(bit === each ? undefined : each)}
                >
                  <span className="bit-number">bit {each}</span>
                  <strong>{name}</strong>
                </button>
              );
            })}
          </div>
          <p className="quiet">
            {(read ?? write)?.chipPart}, cell {holds[0]!.word.toLocaleString("en-GB")} of each. A bit lights its chip
            alone.
          </p>
        </>
      )}
    </section>
  );
}
