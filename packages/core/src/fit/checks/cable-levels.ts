import { meet } from "../../line/index.ts";
import { benchFigure, type Check, type Outcome, unknown } from "../frame.ts";
import { RULES } from "../rules.ts";

export const cableLevels: Check = {
  id: "cable-levels",
  link: "cable",
  title: "Electrical levels",
  about:
    "V.28 swings to both sides of ground, TTL between 0 and 5 V with the opposite polarity. A V.28 driver destroys a TTL input. Never infer the levels from the connector: measure the idle line first (−3 to −15 V is V.28 mark, about +5 or +3.3 V is TTL, about 0 V is unpowered or unknown).",
  sources: [RULES.v28, RULES.mc1488],
  run({ bench }) {
    return bench.cables.map((cable): Outcome => {
      const { from, to } = cable;
      const about = cable.name;
      const missing = [from, to].filter((end) => !end.levels).map((end) => `${end.path}.levels`);
      if (!from.levels || !to.levels)
        return unknown(
          `The electrical levels of ${missing.length === 2 ? "both ends" : "one end"} of ${cable.name} are not given.`,
          missing,
          {
            about,
            remedy: "Measure the idle transmit line against ground with a meter before anything is joined.",
          },
        );
      const ways = [
        { from, to, ...meet(from.levels, to.levels) },
        { from: to, to: from, ...meet(to.levels, from.levels) },
      ];
      const figures = [
        benchFigure(from.name, from.levels, `${from.path}.levels`),
        benchFigure(to.name, to.levels, `${to.path}.levels`),
      ];
      const order = ["damages", "fails", "marginal", "fits"] as const;
      const [worst] = [...ways].sort((a, b) => order.indexOf(a.verdict) - order.indexOf(b.verdict));
      const shared = { about, figures, at: cable.path };
      if (!worst || worst.verdict === "fits")
        return { ...shared, verdict: "runs", sentence: `Both ends of ${cable.name} use ${from.levels} levels.` };
      if (worst.verdict === "marginal")
        return {
          ...shared,
          verdict: "tight",
          sentence: `${cable.name}: ${worst.sentence}.`,
          remedy:
            worst.from.levels === "current loop"
              ? "Look up which end feeds the loop; where both wait for current, put a supply and a resistor for 20 mA into it."
              : "Measure the idle transmit lines, keep the cable short and test the line before the day.",
        };
      return {
        ...shared,
        verdict: "stops",
        sentence: `${cable.name}: ${worst.sentence}.`,
        remedy: "Put a level converter between the two ends (a V.28 driver and receiver pair with its own supply).",
        ...(worst.verdict === "damages"
          ? {
              caution: `Do not plug this in: it can destroy ${worst.to.name}. Measure the idle voltage of each transmit line first.`,
            }
          : {}),
      };
    });
  },
};
