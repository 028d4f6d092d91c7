import { type MapState, type MemoryMap, stateText } from "@rouse/core/memory";
import { formatValue } from "@rouse/core/quantity";
import { VerdictMark } from "../../parts/verdict.tsx";
import { counted, hexOf, listed } from "../../parts/words.ts";
import type { MemoryTold } from "./types.ts";

type OnShow = (state: MapState, address?: number) => void;
const size = (bytes: number): string => formatValue(bytes, "memory");
const MOST_RANGES = 12;

function Ranges({
  ranges,
  state,
  onShow,
}: {
  ranges: readonly { from: number; to: number }[];
  state: MapState;
  onShow: OnShow;
}) {
  return (
    <span className="ranges">
      {ranges.slice(0, MOST_RANGES).map(({ from, to }) => (
        <button key={from} type="button" className="link" onClick={() => onShow(state, from)}>
          {hexOf(from)}–{hexOf(to)}
        </button>
      ))}
      {ranges.length > MOST_RANGES && ` and ${ranges.length - MOST_RANGES} more`}
    </span>
  );
}

/** What is wrong, or worth knowing, in any state of the latches; each place can be shown. */
export function Findings({ told, map, onShow }: { told: MemoryTold; map: MemoryMap; onShow: OnShow }) {
  const { findings, proofs } = told;
  const { looked, states, clashes, holes, sometimesHoles, unseen, mirrors, longest } = findings;
  const start = map.powerOn;
  return (
    <section className="panel" aria-labelledby="findings-title">
      <h2 id="findings-title">In any state of the latches</h2>
      <p className="quiet">
        {states === 1
          ? "There is only one."
          : `${looked === states ? `All ${counted(states, "state")}` : `${looked} of ${counted(states, "state")}`} looked at.`}
      </p>
      <dl className="shown-facts" data-testid="findings">
        <div>
          <dt>Two drive the bus</dt>
          <dd>
            {clashes.length === 0 ? (
              <>
                <VerdictMark verdict="runs" /> never
              </>
            ) : (
              clashes.map((each) => (
                <p key={`${each.regions.join()} ${each.from}`}>
                  <VerdictMark verdict="stops" /> {listed(each.regions)} at{" "}
                  <Ranges ranges={[each]} state={each.state} onShow={onShow} />
                  {each.states === looked
                    ? ", always"
                    : `, in ${counted(each.states, "state")}: ${stateText(each.state)}`}
                </p>
              ))
            )}
          </dd>
        </div>
        <div>
          <dt>Nothing answers</dt>
          <dd>
            {holes.length === 0 && sometimesHoles.length === 0 && "nowhere"}
            {holes.length > 0 && (
              <p>
                {looked === states ? "ever" : "in any state looked at"}:{" "}
                <Ranges ranges={holes} state={start} onShow={onShow} />
              </p>
            )}
            {sometimesHoles.length > 0 && (
              <p>
                in some states: <Ranges ranges={sometimesHoles} state={start} onShow={onShow} />
              </p>
            )}
          </dd>
        </div>
        <div>
          <dt>{looked === states ? "Never seen" : "Not seen in the states looked at"}</dt>
          <dd>
            {unseen.length === 0
              ? "nothing"
              : unseen.map(({ part, bytes, banks }) => (
                  <p key={part}>
                    {size(bytes)} of {part}
                    {banks.length > 0 && `, banks ${listed(banks.slice(0, MOST_RANGES).map(String))}`}
                  </p>
                ))}
          </dd>
        </div>
        <div>
          <dt>Mirrors</dt>
          <dd>
            {mirrors.length === 0
              ? "none"
              : mirrors.map(({ region, ranges, bytes }) => (
                  <p key={region}>
                    {region}, {counted(bytes, "address", "addresses")}:{" "}
                    <Ranges ranges={ranges} state={start} onShow={onShow} />
                  </p>
                ))}
          </dd>
        </div>
        <div>
          <dt>Longest run</dt>
          <dd>
            {size(longest.most.bytes)} from{" "}
            <button type="button" className="link" onClick={() => onShow(longest.most.state, longest.most.from)}>
              {hexOf(longest.most.from)}
            </button>
            {longest.least.bytes < longest.most.bytes && (
              <>
                ; in the worst state {size(longest.least.bytes)} (
                <button type="button" className="link" onClick={() => onShow(longest.least.state, longest.least.from)}>
                  {stateText(longest.least.state)}
                </button>
                )
              </>
            )}
          </dd>
        </div>
      </dl>
      {proofs.length > 0 && (
        <>
          <h3>The decoder's logic</h3>
          <ul className="proofs" data-testid="proofs">
            {proofs.map(({ region, one, other, equal, inputs, method, difference }, index) => (
              // biome-ignore lint/suspicious/noArrayIndexKey: the same form may be given twice
              <li key={index}>
                <VerdictMark verdict={equal === null ? "unknown" : equal ? "runs" : "stops"} />
                <p>
                  <strong>{region}</strong>: “{one}” and {other}{" "}
                  {equal === null && `are too large to be settled (${inputs} inputs)`}
                  {equal && `are proved equal (${inputs} inputs, ${method})`}
                  {difference && (
                    <>
                      differ first at{" "}
                      <button
                        type="button"
                        className="link"
                        onClick={() => onShow(stateWith(difference.others, start), difference.address)}
                      >
                        {hexOf(difference.address)}
                      </button>
                      {difference.others.map(([name, value]) => `, ${name} = ${value ? 1 : 0}`)}: the first is{" "}
                      {difference.first ? "on" : "off"} there, the other {difference.first ? "off" : "on"}
                    </>
                  )}
                  .
                </p>
              </li>
            ))}
          </ul>
        </>
      )}
    </section>
  );
}

/** A state with bits of latches as a proof found them: `window.1 = 1`. */
export function stateWith(bits: readonly (readonly [string, boolean])[], start: MapState): MapState {
  const latches = { ...start.latches };
  for (const [name, value] of bits) {
    const dot = name.lastIndexOf(".");
    const latch = name.slice(0, dot);
    const weight = 2 ** Number(name.slice(dot + 1));
    const before = latches[latch];
    if (dot < 0 || before === undefined) continue;
    const isSet = Math.floor(before / weight) % 2 === 1;
    latches[latch] = before + (value ? 1 : 0) * weight - (isSet ? weight : 0);
  }
  return { ...start, latches };
}
