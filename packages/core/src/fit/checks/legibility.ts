import { formatNumber, formatValue } from "../../quantity/index.ts";
import { benchFigure, type Check, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

/** Minutes of arc of a capital letter: least, and recommended (ISO 9241-303, from memory). */
const LEAST = 16;
const GOOD = 20;

export const legibility: Check = {
  id: "legibility",
  link: "audience",
  title: "Can the last row read it?",
  about: "A capital letter should span at least 16 minutes of arc at the eye, better 20 to 22.",
  formula: "angle = 2 × arctan(height ÷ (2 × distance))",
  sources: [RULES.displays],
  run({ bench }) {
    const show = bench.show;
    const terminal = show?.terminal;
    if (!show || !terminal) return [];
    const missing = [
      ...(show.distance ? [] : ["show.distance"]),
      ...(terminal.characterHeight ? [] : [`${terminal.path}.characterHeight`]),
    ];
    if (!show.distance || !terminal.characterHeight)
      return [unknown("Whether the last row can read the screen cannot be said.", missing)];
    const height = terminal.characterHeight.value;
    const distance = show.distance.value;
    const minutes = (2 * Math.atan(height / (2 * distance)) * 180 * 60) / Math.PI;
    const reach = height / (2 * Math.tan((LEAST / 60 / 2) * (Math.PI / 180)));
    const shared = {
      figures: [
        benchFigure("height of a capital", terminal.characterHeight, `${terminal.path}.characterHeight`),
        benchFigure("distance", show.distance, "show.distance"),
        worked("angle", `${formatNumber(minutes, 3)} minutes of arc`),
      ],
      result: `${formatNumber(minutes, 3)} minutes of arc`,
      margin: `${formatNumber(minutes - LEAST, 3)} minutes of arc`,
      at: "show.distance",
    };
    const outcome = (verdict: Outcome["verdict"], sentence: string, remedy?: string): Outcome[] => [
      { ...shared, verdict, sentence, ...(remedy ? { remedy } : {}) },
    ];
    const help = `Put the last row within ${formatValue(reach, "length", 2)}, or show the screen through a camera on a larger one.`;
    if (minutes < LEAST)
      return outcome(
        "stops",
        `From ${formatValue(distance, "length")} a letter spans ${formatNumber(minutes, 3)} minutes of arc; people need ${LEAST}.`,
        help,
      );
    if (minutes < GOOD)
      return outcome(
        "tight",
        `From ${formatValue(distance, "length")} a letter spans ${formatNumber(minutes, 3)} minutes of arc: readable with effort.`,
        help,
      );
    return outcome(
      "runs",
      `From ${formatValue(distance, "length")} a letter spans ${formatNumber(minutes, 3)} minutes of arc: easy to read.`,
    );
  },
};
