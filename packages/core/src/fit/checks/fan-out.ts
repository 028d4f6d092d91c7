import { type FanOut, fanOuts } from "../../board/index.ts";
import { formatNumber, formatValue } from "../../quantity/index.ts";
import { type Check, figureOf, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

/** Share of a driver's current that may be used before it counts as little left. */
const FULL = 0.9;

function judge(each: FanOut): Outcome {
  const { load, driver, canHigh, canLow } = each;
  const about = each.title;
  const current = (value: number) => formatValue(value, "current", 3);
  const figures = [
    ...load.rows.map((row) =>
      worked(
        `${row.board}${row.added ? " (added)" : ""}: ${row.part}`,
        `${row.count} ${row.kind}${row.count > 1 ? "s" : ""}`,
      ),
    ),
    worked("unit loads, high and low", `${formatNumber(load.unitsHigh, 3)} and ${formatNumber(load.unitsLow, 3)}`),
    worked("current at the high level", current(load.high)),
    worked("current at the low level", current(load.low)),
    worked("capacitance", formatValue(load.capacitance, "capacitance", 3)),
    ...(canHigh ? [figureOf(`${driver?.part} gives at the high level`, canHigh)] : []),
    ...(canLow ? [figureOf(`${driver?.part} takes at the low level`, canLow)] : []),
    ...(each.rated === undefined
      ? []
      : [worked("load that its delays are given for", formatValue(each.rated, "capacitance", 3))]),
    ...(each.slowed ? [worked("delay that the surplus adds", formatValue(each.slowed, "time", 3))] : []),
  ];
  const shared = { about, figures, ...(each.paths[0] ? { at: each.paths[0] } : {}) };
  if (each.missing.length > 0 || !driver || !canHigh || !canLow)
    return unknown(`Whether ${each.title} can be driven is not known.`, each.missing, shared);
  const high = load.high / canHigh.value.value;
  const low = load.low / canLow.value.value;
  const use = Math.max(high, low);
  const level = low >= high ? "low" : "high";
  const [needs, gives] = level === "low" ? [load.low, canLow] : [load.high, canHigh];
  const result = `${current(needs)} of ${current(gives.value.value)} at the ${level} level, ${formatValue(load.capacitance, "capacitance", 3)}`;
  const whole = { ...shared, result, margin: current(gives.value.value - needs) };
  const added = load.addedLow > 0 ? ` (${current(load.addedLow)} of it for the added board)` : "";
  const remedy = "Put a bus driver (74LS244) between the lines and the added board, so that it counts as one input.";
  if (use > 1)
    return {
      ...whole,
      verdict: "stops",
      sentence: `${each.title} ask ${driver.part} for ${current(needs)} at the ${level} level${added}, and it is rated for ${current(gives.value.value)}.`,
      remedy,
    };
  const slow = each.slowed ?? 0;
  // The bus timing counts the delay; beyond twice the rated load nobody's figures hold any more.
  if (use > FULL || (each.rated !== undefined && load.capacitance > 2 * each.rated))
    return {
      ...whole,
      verdict: "tight",
      sentence:
        use > FULL
          ? `${each.title} take ${formatNumber(use * 100, 3)} % of what ${driver.part} can drive at the ${level} level${added}.`
          : `${each.title} carry ${formatValue(load.capacitance, "capacitance", 3)}, and the delays of ${driver.part} are given for ${formatValue(each.rated!, "capacitance", 3)}: edges come about ${formatValue(slow, "time", 2)} late.`,
      remedy,
    };
  return {
    ...whole,
    verdict: "runs",
    sentence: `${driver.part} drives ${each.title} with ${formatNumber(use * 100, 3)} % of what it can${added}.`,
  };
}

export const fanOut: Check = {
  id: "fan-out",
  link: "board",
  title: "Load of the bus lines",
  about:
    "Every input takes a little current at the high level and gives back more at the low level, and every input, idle output and wire adds capacitance. What hangs on a line must not ask more of its driver than the data sheet promises; more capacitance than the delays are given for makes edges late, which the bus timing counts.",
  formula: "Σ (inputs × input current) ≤ output current, high and low; Σ capacitance against the driver's rated load",
  sources: [RULES.lsSheet],
  run({ bench }) {
    const { computer } = bench;
    if (!computer) return [];
    const silent = computer.boards.filter((each) => each.added && each.lines.length === 0);
    return [
      ...fanOuts(computer).map(judge),
      ...silent.map((board) =>
        unknown(
          `Which bus lines ${board.name} loads is not said, so that what it asks of their drivers is not known.`,
          [`${board.path}.lines`],
          { about: board.name, at: board.path },
        ),
      ),
    ];
  },
};
