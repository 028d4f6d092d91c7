import { charactersPerSecond, portRate, readFrame } from "../../line/index.ts";
import { formatNumber, formatValue } from "../../quantity/index.ts";
import { benchFigure, type Check, figureOf, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

/** Seconds that people watch a screen fill before they look away. Common practice, no source. */
const PATIENCE = 10;

export const screenFill: Check = {
  id: "screen-fill",
  link: "audience",
  title: "Time to fill the screen",
  about: "How many characters a second the line carries, and how long the audience watches until a full screen stands.",
  formula: "time = columns × rows ÷ (rate ÷ bits a character)",
  sources: [RULES.arithmetic, RULES.common],
  run({ bench }) {
    return bench.cables
      .filter((cable) => !bench.show?.terminal || bench.show.terminal === cable.to)
      .map(({ from: port, to: terminal }): Outcome => {
        const about = terminal.name;
        const made = portRate(port);
        const rate = made.known ? made.rate : terminal.rate?.value;
        const format = port.format ?? terminal.format;
        const missing = [
          ...(rate === undefined ? [`${terminal.path}.rate`] : []),
          ...(format === undefined ? [`${terminal.path}.format`] : []),
          ...(terminal.columns ? [] : [`${terminal.path}.columns`]),
          ...(terminal.rows ? [] : [`${terminal.path}.rows`]),
        ];
        if (rate === undefined || format === undefined || !terminal.columns || !terminal.rows)
          return unknown(`How fast ${terminal.name} fills cannot be said.`, missing, { about });
        const frame = readFrame(format);
        const speed = charactersPerSecond(rate, frame);
        const seconds = (terminal.columns.value * terminal.rows.value) / speed;
        const shared = {
          about,
          figures: [
            worked("rate", formatValue(rate, "rate")),
            benchFigure("frame", `${frame.text}, ${frame.bits} bits a character`, `${port.path}.format`),
            figureOf("columns", terminal.columns, terminal.path),
            figureOf("rows", terminal.rows, terminal.path),
            worked("characters a second", formatNumber(speed, 4)),
          ],
          result: formatValue(seconds, "time", 3),
        };
        const sentence = `${formatNumber(speed, 4)} characters a second fill the ${terminal.columns.value} × ${terminal.rows.value} screen of ${terminal.name} in ${formatValue(seconds, "time", 3)}.`;
        return seconds > PATIENCE
          ? {
              ...shared,
              verdict: "tight",
              sentence,
              remedy: "Raise the rate at both ends, or show programs that paint little.",
            }
          : { ...shared, verdict: "runs", sentence };
      });
  },
};
