import { formatValue } from "../../quantity/index.ts";
import { benchFigure, type Check, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

/** V.28: a driver is made for at most this load, receiver included. */
const LARGEST = 2500e-12;

export const cableCapacitance: Check = {
  id: "cable-capacitance",
  link: "cable",
  title: "Cable length and capacitance",
  about:
    "A V.28 driver is made for at most 2,500 pF; a longer cable rounds the edges until the receiver sees them too late.",
  formula: "capacitance = length × capacitance a metre ≤ 2,500 pF",
  sources: [RULES.v28],
  run({ bench }) {
    return bench.cables
      .filter((cable) => cable.from.levels === "V.28" && cable.to.levels === "V.28")
      .map((cable): Outcome => {
        const about = cable.name;
        const missing = [
          ...(cable.length ? [] : [`${cable.path}.length`]),
          ...(cable.capacitance ? [] : [`${cable.path}.capacitance`]),
        ];
        if (!cable.length || !cable.capacitance)
          return unknown(`The load of ${cable.name} cannot be worked out.`, missing, { about });
        const total = cable.length.high * cable.capacitance.high;
        const shared = {
          about,
          at: cable.path,
          figures: [
            benchFigure("length", cable.length, `${cable.path}.length`),
            benchFigure("capacitance a metre", cable.capacitance, `${cable.path}.capacitance`),
            worked("capacitance", formatValue(total, "capacitance", 4)),
          ],
          result: `${formatValue(total, "capacitance", 4)} of 2,500 pF`,
          margin: formatValue(LARGEST - total, "capacitance", 3),
        };
        if (total > LARGEST)
          return {
            ...shared,
            verdict: "tight",
            sentence: `${cable.name} loads the drivers with ${formatValue(total, "capacitance", 3)}, more than the 2,500 pF they are made for.`,
            remedy: "Use a shorter cable or one with less capacitance, or a lower rate.",
          };
        return {
          ...shared,
          verdict: "runs",
          sentence: `${cable.name} loads the drivers with ${formatValue(total, "capacitance", 3)} of the 2,500 pF they are made for.`,
        };
      });
  },
};
