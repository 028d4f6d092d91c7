import { formatNumber } from "../../quantity/index.ts";
import { type Check, imageFigure, type Outcome, unknown } from "../frame.ts";
import { RULES } from "../rules.ts";

const MOST_TOLD = 12;

export const imageWhole: Check = {
  id: "image-whole",
  link: "image",
  title: "Is the image whole?",
  about:
    "The image's volume is opened and every chain, map and table compared with the others. What is damaged is told by file; damage to a file that the system asks for on the way to the login stops it, other damage leaves less margin.",
  sources: [RULES.arithmetic],
  run({ bench, images }) {
    return images.map((image): Outcome => {
      const about = image.name;
      const at = bench.images.find((each) => each.name === image.name)?.path ?? "images";
      if (image.problem)
        return {
          about,
          at,
          verdict: "stops",
          sentence: image.problem,
          remedy: "Put the image where the bench file says, or correct the name.",
        };
      const volume = image.volume;
      if (!volume)
        return unknown(
          `What ${image.name} holds was not recognised: no volume of a kind that Rouse knows.`,
          [`${at}.file`],
          {
            about,
            at,
            remedy: "Look at it with `rouse look`, and check that it is a plain sector image.",
          },
        );
      const files = volume.entries.filter((each) => each.type === "file" && !each.deleted);
      const figures = [
        imageFigure("volume", `${volume.format}${volume.label ? `, “${volume.label}”` : ""}`, image.name),
        imageFigure("files", formatNumber(files.length), image.name),
        ...volume.damages
          .slice(0, MOST_TOLD)
          .map((damage) => imageFigure(`${damage.condition}`, damage.sentence, damage.files[0] ?? image.name)),
      ];
      const shared = {
        about,
        at,
        figures,
        result: `${volume.condition}: ${volume.damages.length} damages, ${files.length} files`,
      };
      const asked = new Set((image.system?.asks ?? []).flatMap((ask) => (ask.found ? [ask.found.file] : [])));
      if (image.system?.boot.file) asked.add(image.system.boot.file);
      const hit = files.filter((each) => each.condition !== "whole");
      const grave = hit.filter((each) => asked.has(each.path));
      const names = (list: readonly { path: string }[]) =>
        `${list
          .slice(0, 4)
          .map((each) => each.path)
          .join(", ")}${list.length > 4 ? ` and ${list.length - 4} more` : ""}`;
      const remedy =
        "Look at it with `rouse look`, and find another copy of the files hit; never write over the damaged one.";
      if (volume.condition === "lost")
        return {
          ...shared,
          verdict: "stops",
          sentence: `${image.name} is damaged beyond reading: ${volume.damages[0]?.sentence ?? "nothing can be read"}`,
          remedy,
        };
      if (grave.length > 0)
        return {
          ...shared,
          verdict: "stops",
          sentence: `Files that the system needs are damaged on ${image.name}: ${names(grave)}.`,
          remedy,
        };
      if (hit.length > 0)
        return {
          ...shared,
          verdict: "tight",
          sentence: `${hit.length === 1 ? "One file" : `${hit.length} files`} of ${image.name} can be read only in part: ${names(hit)}.`,
          remedy,
        };
      if (volume.damages.length > 0)
        return {
          ...shared,
          verdict: "tight",
          sentence: `All files of ${image.name} can be read, but its bookkeeping disagrees: ${volume.damages[0]!.sentence}`,
          remedy: "Boot from it, but write nothing to it: put what is written onto another disk.",
        };
      return {
        ...shared,
        verdict: "runs",
        sentence: `${image.name} is whole: ${volume.format}, ${formatNumber(files.length)} files.`,
      };
    });
  },
};
