import { type Check, figureOf, imageFigure, type Outcome, unknown } from "../frame.ts";
import { RULES } from "../rules.ts";

/** Format effectors that every terminal of the catalogue obeys in some way; they are not listed by class. */
const EVERYWHERE = new Set(["CR", "LF", "BS", "BEL", "HT", "NUL"]);

export const terminalControls: Check = {
  id: "terminal-controls",
  link: "terminal",
  title: "Control functions",
  about:
    "A program that places the cursor or clears the screen sends control functions (ECMA-48). A terminal that lacks one shows garbage in its place or does nothing.",
  formula: "functions used − functions obeyed = ∅",
  sources: [RULES.arithmetic],
  run({ bench, images }) {
    const terminals = bench.show?.terminal ? [bench.show.terminal] : bench.terminals;
    return images.flatMap((image) =>
      image.needs.flatMap((need): Outcome[] => {
        if (need.kind !== "controls") return [];
        const used = need.functions.filter((each) => !EVERYWHERE.has(each.name));
        return terminals.map((terminal): Outcome => {
          const about = terminal.name;
          const evidence = need.evidence
            .slice(0, 6)
            .map((each) => imageFigure("used", each.text, `${each.file}, byte ${each.offset}`));
          if (!terminal.controls)
            return unknown(
              `What control functions ${terminal.name} obeys is not given.`,
              [`${terminal.path}.controls`],
              { about, figures: evidence },
            );
          const obeyed = new Set(terminal.controls.value);
          const lacking = used.filter((each) => !obeyed.has(each.name));
          const shared = {
            about,
            at: terminal.path,
            figures: [
              ...evidence,
              imageFigure(
                "functions used",
                used.map((each) => `${each.name} ×${each.times}`).join(", ") || "none",
                image.name,
              ),
              figureOf(
                `functions of ${terminal.name}`,
                { value: terminal.controls.value.join(", ") || "none", source: terminal.controls.source },
                `${terminal.path}.controls`,
              ),
            ],
            result: `${used.length - lacking.length} of ${used.length} functions obeyed`,
          };
          return lacking.length === 0
            ? {
                ...shared,
                verdict: "runs",
                sentence: `${terminal.name} obeys every control function that was found on ${image.name}.`,
              }
            : {
                ...shared,
                verdict: "tight",
                sentence: `Programs on ${image.name} use ${lacking.map((each) => each.name).join(", ")}, which ${terminal.name} lacks: ${
                  // One that knows no function at all ignores ESC and shows the rest; others pass over what they lack.
                  obeyed.size === 0
                    ? `the audience would see garbage in ${lacking.length === 1 ? "its place" : "their place"}`
                    : `nothing happens where ${lacking.length === 1 ? "it stands" : "they stand"}`
                }.`,
                remedy:
                  "Show programs that do not use them, use a terminal that obeys them, or put `rouse bridge` between the two.",
              };
        });
      }),
    );
  },
};
