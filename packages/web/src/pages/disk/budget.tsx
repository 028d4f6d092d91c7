import type { GapLeft } from "@rouse/core/recording";
import type { Verdict } from "../../job/types.ts";
import { ScrollX } from "../../parts/scroll-x.tsx";
import { VerdictMark } from "../../parts/verdict.tsx";
import type { Track } from "./track-model.ts";

const number = (value: number, least: number, most = least): string =>
  value.toLocaleString("en-GB", { minimumFractionDigits: least, maximumFractionDigits: most });
const micro = (seconds: number): string => number(seconds * 1e6, 1);
const bytes = (value: number): string => number(value, 0, 1).replace("-", "−");
const departure = (share: number): string =>
  `${share > 0 ? "+" : share < 0 ? "−" : ""}${number(Math.abs(share) * 100, 0, 2)} %`;

const VERDICTS: Readonly<Record<GapLeft["fits"], Verdict>> = { yes: "runs", tight: "tight", no: "stops" };

/** Whether the track still fits when the disk turns 2 % fast, in one sentence. */
export function twoPercentSentence(left: readonly GapLeft[]): string {
  const fast = left.find(({ condition }) => condition === "2 % fast");
  if (!fast) return "";
  if (fast.fits === "yes") return `At +2 % speed the track still fits, with ${bytes(fast.bytesLeft)} bytes to spare.`;
  return fast.fits === "tight"
    ? `At +2 % speed the track fits with less gap than is asked for: ${bytes(fast.bytesLeft)} bytes.`
    : `At +2 % speed the track no longer fits: it is ${bytes(-fast.bytesLeft)} bytes too long.`;
}

/** Bytes and microseconds of every field, and what is left of the turn. */
export function Budget({ track, drive }: { track: Track; drive: string | null }) {
  const { budget } = track;
  const fast = budget.left.find(({ condition }) => condition === "2 % fast");
  return (
    <section className="panel" aria-labelledby="budget-title">
      <h2 id="budget-title">What the track is made of</h2>
      <p className="budget-verdict">
        {fast && <VerdictMark verdict={VERDICTS[fast.fits]} />} {twoPercentSentence(budget.left)}
      </p>
      <div className="budget-tables">
        <FieldTable track={track} />
        <div>
          <h3>What is left before the index</h3>
          <LeftTable left={budget.left} />
          <Facts track={track} drive={drive} />
        </div>
      </div>
    </section>
  );
}

function FieldTable({ track: { budget, form } }: { track: Track }) {
  return (
    <ScrollX name="Fields of the track">
      <table className="rows">
        <thead>
          <tr>
            <th scope="col">Field</th>
            {["Times", "Bytes each", "µs each", "Of the turn"].map((title) => (
              <th key={title} scope="col" className="is-number">
                {title}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {budget.rows.map(({ kind, times, bytes: each, seconds, splice }) => (
            <tr key={kind}>
              <th scope="row">
                {kind}
                {splice && <span className="budget-note">{splice}</span>}
              </th>
              <td className="is-number">{times}</td>
              <td className="is-number">{bytes(each)}</td>
              <td className="is-number">{micro(seconds)}</td>
              <td className="is-number">{number((times * seconds * 100) / form.turnSeconds, 1)} %</td>
            </tr>
          ))}
        </tbody>
      </table>
    </ScrollX>
  );
}

function LeftTable({ left }: { left: readonly GapLeft[] }) {
  return (
    <ScrollX name="Gap left">
      <table className="rows">
        <thead>
          <tr>
            <th scope="col">When</th>
            <th scope="col" className="is-number">
              Speed
            </th>
            <th scope="col" className="is-number">
              Bytes left
            </th>
            <th scope="col">Verdict</th>
          </tr>
        </thead>
        <tbody>
          {left.map(({ condition, speed, writer, bytesLeft, fits }) => (
            <tr key={condition}>
              <th scope="row">
                {condition}
                {writer !== 0 && <span className="budget-note">writer's clock {departure(writer)}</span>}
              </th>
              <td className="is-number">{departure(speed)}</td>
              <td className="is-number">{bytes(bytesLeft)}</td>
              <td>
                <VerdictMark verdict={VERDICTS[fits]} />
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </ScrollX>
  );
}

/** Whose tolerance of the speed it is. */
function speedTolerance(isAssumed: boolean, drive: string | null): string {
  if (drive === null) return "±2 % of speed, since no drive is named";
  return isAssumed
    ? `±2 % of speed, since none is given for the “${drive}” (common practice, no source)`
    : `the speed of the “${drive}”`;
}

function Facts({ track: { form, budget, precompensation }, drive }: { track: Track; drive: string | null }) {
  const shift = precompensation && `${Math.round(precompensation.seconds * 1e9)} ns`;
  const facts: readonly (readonly [string, string])[] = [
    [
      "A turn",
      `${number(form.turnSeconds * 1000, 0, 2)} ms, ${bytes(budget.left[0]?.bytesInTurn ?? 0)} bytes' worth of cells of ${number(form.cellSeconds * 1e6, 0, 3)} µs`,
    ],
    ["Tolerances", `${speedTolerance(budget.assumed, drive)}; the writer's clock ±0.5 % (from memory)`],
    [
      "Precompensation",
      !precompensation
        ? "none in this code"
        : form.track >= precompensation.fromTrack
          ? `${shift} on this track (${precompensation.source.title})`
          : `none here; ${shift} from track ${precompensation.fromTrack} inwards (${precompensation.source.title})`,
    ],
    ["Layout", form.layout.source.title],
  ];
  return (
    <dl className="shown-facts budget-facts">
      {facts.map(([name, text]) => (
        <div key={name}>
          <dt>{name}</dt>
          <dd>{text}</dd>
        </div>
      ))}
    </dl>
  );
}
