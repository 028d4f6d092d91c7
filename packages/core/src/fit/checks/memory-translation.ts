import { formatValue } from "../../quantity/index.ts";
import { benchFigure, type Check, imageFigure, type Outcome, unknown } from "../frame.ts";
import { RULES } from "../rules.ts";

export const memoryTranslation: Check = {
  id: "memory-translation",
  link: "memory",
  title: "Address translation",
  about:
    "Some systems reach more memory than 16 bits address; they need windows or a translation board, and a driver for it.",
  formula: "reach of the system > 64 KiB needs translation with as many blocks",
  sources: [RULES.arithmetic],
  run({ bench, images }) {
    const computer = bench.computer;
    return images.flatMap((image): Outcome[] =>
      image.needs.flatMap((need): Outcome[] => {
        if (need.kind !== "translation") return [];
        const about = image.name;
        const figures = need.evidence.map((each) =>
          imageFigure("found", each.text, `${each.file}, byte ${each.offset}`),
        );
        const translation = computer?.translation;
        if (!computer) return [unknown(need.sentence, ["computer"], { about, figures })];
        if (!translation || translation.fitted === false)
          return [
            {
              about,
              figures,
              verdict: "stops",
              sentence: `${need.sentence} This bench has no translation board${translation ? " fitted yet" : ""}.`,
              remedy: "Fit a translation board and describe it under computer.translation.",
              at: "computer.translation",
            },
          ];
        figures.push(
          benchFigure(
            "translation",
            `${translation.blocks ?? "?"} blocks of ${translation.block?.text ?? "?"}`,
            "computer.translation",
          ),
        );
        if (!translation.block || !translation.blocks)
          return [
            unknown(
              `${need.sentence} How much the translation board maps is not given.`,
              ["computer.translation.block", "computer.translation.blocks"],
              { about, figures },
            ),
          ];
        const mapped = translation.block.value * translation.blocks;
        const enough = mapped >= need.reach;
        return [
          enough
            ? {
                about,
                figures,
                verdict: "runs",
                sentence: `${need.sentence} The translation board maps ${formatValue(mapped, "memory")}.`,
                at: "computer.translation",
              }
            : {
                about,
                figures,
                verdict: "stops",
                sentence: `${need.sentence} The translation board maps only ${formatValue(mapped, "memory")}.`,
                remedy: "Fit more memory behind the board.",
                at: "computer.translation",
              },
        ];
      }),
    );
  },
};
