import { type BusTiming, busTimings } from "../../board/index.ts";
import { formatNumber, formatValue } from "../../quantity/index.ts";
import { benchFigure, type Check, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";
import type { Figure } from "../types.ts";

/** Share of the cycle below which the margin counts as small: parts age, and boards differ. */
const SMALL = 0.05;

const time = (seconds: number): string => formatValue(seconds, "time", 3);

function judge(each: BusTiming): Outcome {
  const { path, window, margin, added, fastest, clock, strobe } = each;
  const figures: Figure[] = [
    benchFigure("clock", formatValue(clock, "frequency", 4), "computer.cpu.clock"),
    worked(`time of the ${each.cycle.which}`, time(window)),
    ...each.spans.map((span): Figure => {
      const label = `${span.what}${span.added ? " (added board)" : ""}${span.note ? ` (${span.note})` : ""}`;
      const figure = worked(label, `${time(span.to - span.from)}, to ${time(span.to)}`);
      return span.source ? { ...figure, from: "catalogue", source: span.source } : figure;
    }),
    ...(strobe
      ? [worked("address at the memory before its row strobe", `${time(strobe.reached)} of ${time(strobe.at)}`)]
      : []),
    worked("fastest clock that holds", formatValue(fastest, "frequency", 4)),
    ...each.changes.slice(0, 4).map(
      (change): Figure => ({
        ...worked(
          change.what,
          `${time(change.gained)} gained${strobe && change.early > 0 ? `, ${time(change.early)} before the row strobe` : ""}, holds to ${formatValue(change.fastest, "frequency", 4)}`,
        ),
        ...(change.source ? { source: change.source } : {}),
      }),
    ),
  ];
  const shared = {
    about: path.name,
    at: path.path,
    figures,
    result: `${margin < 0 ? "−" : ""}${time(Math.abs(margin))} left of ${time(window)}; holds to ${formatValue(fastest, "frequency", 4)}`,
    margin: `${margin < 0 ? "−" : ""}${time(Math.abs(margin))}`,
  };
  const beyond =
    each.rated !== undefined && fastest > each.rated
      ? `, more than the ${formatValue(each.rated, "frequency", 3)} that the CPU is rated for`
      : "";
  const cost = added > 0 ? `; the added board takes ${time(added)} of the way` : "";
  const best = each.changes[0];
  const remedy = `Slow the clock to ${formatValue(fastest, "frequency", 3)}, add a wait state${best ? `, or fit ${best.what} (${time(best.gained)} gained)` : ""}.`;
  if (strobe && strobe.margin < 0)
    return {
      ...shared,
      verdict: "stops",
      sentence: `The address of ${path.name} is at the memory ${time(-strobe.margin)} behind the row strobe, so that another row is read${cost}.`,
      remedy: `Slow the clock to ${formatValue(fastest, "frequency", 3)}${best && best.early > 0 ? `, or fit ${best.what} (${time(best.early)} sooner)` : ""}; a later row strobe would take its time from the data.`,
    };
  if (margin < 0)
    return {
      ...shared,
      verdict: "stops",
      sentence: `A read of ${path.name} comes ${time(-margin)} too late at ${formatValue(clock, "frequency", 4)}${cost}.`,
      remedy,
    };
  if (margin < window * SMALL)
    return {
      ...shared,
      verdict: "tight",
      sentence: `A read of ${path.name} has ${time(margin)} left, ${formatNumber((margin / window) * 100, 2)} % of its time${cost}.`,
      remedy,
    };
  return {
    ...shared,
    verdict: "runs",
    sentence: `A read of ${path.name} has ${time(margin)} left at ${formatValue(clock, "frequency", 4)}, and would hold to ${formatValue(fastest, "frequency", 3)}${beyond}${cost}.`,
  };
}

export const busTiming: Check = {
  id: "bus-timing",
  link: "board",
  title: "Bus timing",
  about:
    "From the start of a cycle the CPU takes a while to put its address out; translation, decoder, drivers and the memory itself each take theirs; and the data must be there before the clock edge that takes them. All by the greatest values of the data sheets. A board between CPU and memory spends time that the machine was not built to give.",
  formula: "margin = cycle − edge − set-up − (address delay + translation + decode + memory access + drivers)",
  sources: [RULES.cpuSheets],
  run({ bench, catalogue }) {
    const { computer } = bench;
    if (!computer) return [];
    const between = computer.translation?.board;
    const silent = computer.boards.filter((each) => each.added && each.name === between && computer.paths.length === 0);
    return [
      ...busTimings(bench, catalogue).map((each) =>
        "missing" in each
          ? unknown(`Whether a read of ${each.path.name} comes in time is not known.`, each.missing, {
              about: each.path.name,
              at: each.path.path,
            })
          : judge(each),
      ),
      ...silent.map((board) =>
        unknown(
          `${board.name} stands between the CPU and its memory; what a read passes on its way is not said.`,
          ["computer.paths"],
          { about: board.name, at: board.path },
        ),
      ),
    ];
  },
};
