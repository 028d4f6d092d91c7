import { hex } from "../../bytes/index.ts";
import { type Check, imageFigure, type Outcome, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

const MOST_TOLD = 10;

export const systemModules: Check = {
  id: "system-modules",
  link: "system",
  title: "Program modules and their checksums",
  about:
    "Each program module carries a header parity and a 24-bit CRC. The system refuses a module whose sums are wrong, so a bad module that is asked for stops the start-up.",
  formula: "header parity: XOR of bytes 0 to 8 = FF; CRC register over the whole module = 800FE3",
  sources: [RULES.moduleCrc],
  run({ images }) {
    return images.flatMap((image): Outcome[] => {
      const modules = image.system?.modules ?? [];
      if (!image.system || modules.length === 0) return [];
      const about = image.name;
      const bad = modules.filter((each) => each.faults.length > 0);
      const needed = new Set(
        image.system.asks.filter((ask) => ask.state === "damaged").map((ask) => ask.name.toLowerCase()),
      );
      const figures = [
        worked("modules found", modules.length),
        ...bad
          .slice(0, MOST_TOLD)
          .map((each) =>
            imageFigure(
              each.name,
              each.faults.map((fault) => fault.sentence).join("; "),
              `${each.path}, byte $${hex(each.offset, 4)}`,
            ),
          ),
      ];
      const shared = { about, figures, result: `${modules.length - bad.length} of ${modules.length} modules sound` };
      const remedy = "Find another copy of the module; the bytes around the fault are shown by `rouse look`.";
      const asked = bad.filter((each) => needed.has(each.name.toLowerCase()));
      if (asked.length > 0)
        return [
          {
            ...shared,
            verdict: "stops",
            sentence: `The system asks for ${asked.map((each) => each.name).join(", ")}, whose checksums are wrong.`,
            remedy,
          },
        ];
      if (bad.length > 0)
        return [
          {
            ...shared,
            verdict: "tight",
            sentence: `${bad.length} of ${modules.length} modules on ${image.name} fail their checksums, none that the start-up asks for.`,
            remedy,
          },
        ];
      return [
        {
          ...shared,
          verdict: "runs",
          sentence: `All ${modules.length} modules on ${image.name} pass header parity and CRC.`,
        },
      ];
    });
  },
};
