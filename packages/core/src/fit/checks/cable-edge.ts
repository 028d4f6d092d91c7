import { edgeTime, portRate } from "../../line/index.ts";
import { formatNumber, formatValue } from "../../quantity/index.ts";
import { benchFigure, type Check, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

/** V.28: share of a bit within which a signal passes from −3 V to +3 V. From memory; RS-232 prints 4 %. */
const ADVISED = 0.04;
/** Beyond this the edge eats what the sampling rule leaves for the two clocks. Common practice, no source. */
const LARGEST = 0.25;

export const cableEdge: Check = {
  id: "cable-edge",
  link: "cable",
  title: "Edges at this rate",
  about:
    "A V.28 driver charges the cable with about 10 mA, so a long cable makes slow edges. A receiver sees nothing certain between −3 V and +3 V; that time must be a small part of a bit.",
  formula: "time from −3 V to +3 V = 6 V × capacitance ÷ 10 mA ≤ 4 % of a bit",
  sources: [RULES.v28, RULES.mc1488],
  run({ bench }) {
    return bench.cables
      .filter(
        (cable) => cable.from.levels === "V.28" && cable.to.levels === "V.28" && cable.length && cable.capacitance,
      )
      .map((cable): Outcome => {
        const about = cable.name;
        const made = portRate(cable.from);
        const rate = made.known ? made.rate : cable.to.rate?.value;
        if (rate === undefined)
          return unknown(`The bit that the edges of ${about} are part of is not known.`, [`${cable.to.path}.rate`], {
            about,
          });
        const total = cable.length!.high * cable.capacitance!.high;
        const edge = edgeTime(total);
        const share = edge * rate;
        const shared = {
          about,
          at: cable.path,
          figures: [
            benchFigure("length", cable.length!, `${cable.path}.length`),
            benchFigure("capacitance a metre", cable.capacitance!, `${cable.path}.capacitance`),
            worked("capacitance", formatValue(total, "capacitance", 4)),
            worked("bit", formatValue(1 / rate, "time", 4)),
            worked("from −3 V to +3 V", formatValue(edge, "time", 3)),
          ],
          result: `${formatNumber(share * 100, 3)} % of a bit`,
          margin: `${formatNumber((ADVISED - share) * 100, 3)} % of a bit`,
        };
        const sentence = `The edges over ${about} take ${formatValue(edge, "time", 3)}, ${formatNumber(share * 100, 3)} % of a bit at ${formatValue(rate, "rate")}`;
        if (share <= ADVISED) return { ...shared, verdict: "runs", sentence: `${sentence}.` };
        return {
          ...shared,
          verdict: share > LARGEST ? "stops" : "tight",
          sentence: `${sentence}; at most 4 % is wise.`,
          remedy: `Use a shorter cable or one with less capacitance, or at most ${formatValue(ADVISED / edge, "rate", 3)}.`,
        };
      });
  },
};
