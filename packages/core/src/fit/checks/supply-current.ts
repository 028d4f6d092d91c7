import { type LoadRow, RESERVE, railLoad } from "../../board/index.ts";
import { formatValue } from "../../quantity/index.ts";
import { benchFigure, type Check, figureOf, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";
import type { Figure } from "../types.ts";

const rowFigure = ({ board, added, part, count, value, typicalOnly, path }: LoadRow): Figure => {
  const label = `${board}${added ? " (added)" : ""}`;
  return "source" in value
    ? figureOf(`${label}: ${count} × ${part}${typicalOnly ? " (typical)" : ""}`, value, path)
    : benchFigure(`${label}, as stated`, value, path);
};

export const supplyCurrent: Check = {
  id: "supply-current",
  link: "board",
  title: "Supply current",
  about:
    "Adds up what every chip draws from each rail, by the greatest value of its data sheet, and compares the sum with what the supply may give. A board that was added later is counted with the rest; forty-year-old regulators and rectifiers should keep a reserve.",
  formula: "margin = limit − Σ (count × greatest supply current); tight below the reserve",
  sources: [RULES.arithmetic],
  run({ bench }) {
    const computer = bench.computer;
    if (!computer || computer.boards.length === 0) return [];
    return computer.rails.map((rail): Outcome => {
      const { typical, max, added, addedTypical, rows, missing } = railLoad(computer, rail.name);
      const figures = rows.map(rowFigure);
      const about = rail.name;
      if (!rail.limit)
        return unknown(
          `The ${rail.name} rail: its limit is not given; the boards draw up to ${formatValue(max, "current", 3)}.`,
          [`${rail.path}.limit`],
          { about, figures },
        );
      const limit = rail.limit.low;
      const reserve = (rail.reserve?.value ?? RESERVE) * limit;
      const all = [
        ...figures,
        benchFigure("limit of the rail", rail.limit, `${rail.path}.limit`),
        worked("typical sum", formatValue(typical, "current", 3)),
        ...(added > 0
          ? [
              worked("added boards, typical", formatValue(addedTypical, "current", 3)),
              worked("added boards, greatest", formatValue(added, "current", 3)),
            ]
          : []),
        worked("greatest sum", formatValue(max, "current", 3)),
        worked("reserve to keep", formatValue(reserve, "current", 3)),
      ];
      const shared = {
        about,
        figures: all,
        result: `${formatValue(max, "current", 3)} of ${formatValue(limit, "current", 3)}`,
        margin: formatValue(limit - max, "current", 3),
        at: rail.path,
      };
      const without = added > 0 ? ` (${formatValue(max - added, "current", 3)} without the added board)` : "";
      if (max > limit)
        return {
          ...shared,
          verdict: "stops",
          sentence: `The ${rail.name} rail may give ${formatValue(limit, "current", 3)}, and the boards draw up to ${formatValue(max, "current", 3)}${without}.`,
          remedy:
            added > 0
              ? `Feed the added board from a supply of its own (${formatValue(added, "current", 3)} at ${rail.name}, grounds joined), or fit a stronger regulator with its rectifier and fuse checked for the new current.`
              : "Fit a stronger supply, or measure the true current of each board and state it under “draws”.",
          caution:
            "Work on the supply only with the mains plug pulled and the capacitors discharged and measured; leave mains wiring to licensed practice.",
        };
      if (missing.length > 0)
        return unknown(
          `The ${rail.name} rail carries at least ${formatValue(max, "current", 3)}, but the current of ${missing.length === 1 ? "one part is" : `${missing.length} parts is`} not known.`,
          missing,
          shared,
        );
      if (max > limit - reserve)
        return {
          ...shared,
          verdict: "tight",
          sentence: `The boards draw up to ${formatValue(max, "current", 3)} of the ${formatValue(limit, "current", 3)} that ${rail.name} may give${without}: ${formatValue(limit - max, "current", 3)} left, less than the reserve of ${formatValue(reserve, "current", 3)}.`,
          remedy:
            added > 0
              ? `Feed the added board separately, or measure ${rail.name} under load with it fitted: it should stay within ${rail.voltage ? `${formatValue(rail.voltage.low, "voltage", 4)} to ${formatValue(rail.voltage.high, "voltage", 4)}` : "5 % of its nominal value"}.`
              : "Measure the rail under load, and keep the case open to moving air.",
        };
      return {
        ...shared,
        verdict: "runs",
        sentence: `The boards draw up to ${formatValue(max, "current", 3)} of the ${formatValue(limit, "current", 3)} that ${rail.name} may give.`,
      };
    });
  },
};
