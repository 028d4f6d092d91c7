import { formatValue } from "../../quantity/index.ts";
import { benchFigure, type Check, figureOf, type Outcome, unknown } from "../frame.ts";
import { RULES } from "../rules.ts";

export const terminalRate: Check = {
  id: "terminal-rate",
  link: "terminal",
  title: "Rates that the terminal knows",
  about: "A terminal is set to one of a few rates; another cannot be chosen.",
  sources: [RULES.arithmetic],
  run({ bench }) {
    return bench.terminals.map((terminal): Outcome => {
      const about = terminal.name;
      if (!terminal.rate)
        return unknown(`The rate of ${terminal.name} is not given.`, [`${terminal.path}.rate`], { about });
      if (!terminal.class)
        return unknown(`The rates that ${terminal.name} knows are not known.`, [`${terminal.path}.class`], { about });
      const known = terminal.class.rates;
      const shared = {
        about,
        at: `${terminal.path}.rate`,
        figures: [
          benchFigure("set to", terminal.rate, `${terminal.path}.rate`),
          figureOf("rates of its class", { value: known.join(", "), source: terminal.class.source }),
        ],
      };
      const { value } = terminal.rate;
      return known.includes(value)
        ? { ...shared, verdict: "runs", sentence: `${terminal.name} can be set to ${formatValue(value, "rate")}.` }
        : {
            ...shared,
            verdict: "stops",
            sentence: `${terminal.name} cannot be set to ${formatValue(value, "rate")}; its class knows ${known.join(", ")} bit/s.`,
            remedy: "Choose a rate that both ends know.",
          };
    });
  },
};
