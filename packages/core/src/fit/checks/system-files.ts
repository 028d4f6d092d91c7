import { type Check, figureOf, imageFigure, type Outcome, unknown } from "../frame.ts";
import { RULES } from "../rules.ts";

export const systemFiles: Check = {
  id: "system-files",
  link: "system",
  title: "Kinds of file that the system needs",
  about:
    "A system that keeps its data in random-access record files fails on storage that offers only sequential ones.",
  sources: [RULES.common],
  run({ bench, images }) {
    return images.flatMap((image): Outcome[] =>
      image.needs.flatMap((need): Outcome[] => {
        if (need.kind !== "files") return [];
        const about = image.name;
        const drive = bench.images.find((each) => each.name === image.name)?.drive;
        const figures = need.evidence.map((each) => imageFigure("record file", each.text, each.file));
        if (!drive) return [];
        if (!drive.fileKinds)
          return [
            unknown(
              `${image.name} holds ${need.count} record files; whether ${drive.name} offers them is not known.`,
              [`${drive.path}.fileKinds`],
              { about, figures },
            ),
          ];
        figures.push(
          figureOf(
            `kinds of file of ${drive.name}`,
            { value: drive.fileKinds.value.join(", "), source: drive.fileKinds.source },
            drive.path,
          ),
        );
        return [
          drive.fileKinds.value.includes("records")
            ? {
                about,
                figures,
                verdict: "runs",
                sentence: `${drive.name} offers the record files that ${image.name} uses.`,
              }
            : {
                about,
                figures,
                verdict: "stops",
                sentence: `${image.name} uses ${need.count} record files, and ${drive.name} offers only ${drive.fileKinds.value.join(", ")}.`,
                remedy: "Use storage that has record files.",
                at: drive.path,
              },
        ];
      }),
    );
  },
};
