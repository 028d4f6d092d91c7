import { formatNumber } from "../../quantity/index.ts";
import { benchFigure, type Check, figureOf, imageFigure, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

export const terminalWidth: Check = {
  id: "terminal-width",
  link: "terminal",
  title: "Width of the screen",
  about:
    "A line longer than the screen is wide wraps into several rows, or is cut where the terminal does not wrap. The lengths come from the messages and texts on the image.",
  formula: "rows a line takes = ⌈length ÷ columns⌉",
  sources: [RULES.arithmetic],
  run({ bench, images }) {
    const terminals = bench.show?.terminal ? [bench.show.terminal] : bench.terminals;
    return images.flatMap((image) =>
      image.needs.flatMap((need): Outcome[] => {
        if (need.kind !== "screen" || need.columns === undefined) return [];
        const longest = need.columns;
        return terminals.map((terminal): Outcome => {
          const about = terminal.name;
          const evidence = need.evidence
            .slice(0, 4)
            .map((each) => imageFigure("long line", each.text, `${each.file}, byte ${each.offset}`));
          if (!terminal.columns)
            return unknown(
              `The system writes lines of up to ${longest} characters; the width of ${terminal.name} is not given.`,
              [`${terminal.path}.columns`],
              { about, figures: evidence },
            );
          const columns = terminal.columns.value;
          const wide = need.widths.filter((each) => each.columns > columns).reduce((sum, each) => sum + each.lines, 0);
          const all = need.widths.reduce((sum, each) => sum + each.lines, 0);
          const rows = Math.ceil(longest / columns);
          const shared = {
            about,
            at: terminal.path,
            figures: [
              ...evidence,
              figureOf(`columns of ${terminal.name}`, terminal.columns, `${terminal.path}.columns`),
              imageFigure("longest line", longest, image.name),
              worked("rows it takes", rows),
              worked("lines that are too wide", `${formatNumber(wide)} of ${formatNumber(all)}`),
              ...(terminal.class
                ? [
                    benchFigure(
                      "at the last column",
                      terminal.class.wraps ? "wraps" : "stays",
                      `${terminal.path}.class`,
                    ),
                  ]
                : []),
            ],
            result: `${rows} ${rows === 1 ? "row" : "rows"} for the longest line`,
          };
          if (longest <= columns)
            return {
              ...shared,
              verdict: "runs",
              sentence: `The longest line, ${longest} characters, fits the ${columns} columns of ${terminal.name}.`,
            };
          const cut = terminal.class?.wraps === false;
          return {
            ...shared,
            verdict: "tight",
            sentence: cut
              ? `${formatNumber(wide)} of ${formatNumber(all)} lines are wider than the ${columns} columns of ${terminal.name}, which does not wrap: their ends are lost.`
              : `Lines of up to ${longest} characters wrap into ${rows} rows on the ${columns} columns of ${terminal.name} (${formatNumber(wide)} of ${formatNumber(all)} lines).`,
            remedy: `Show programs that keep to ${columns} columns, set the system's page width if it has one, or use a wider terminal.`,
          };
        });
      }),
    );
  },
};
