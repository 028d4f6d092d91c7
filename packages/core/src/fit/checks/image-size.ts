import { mapBlocks } from "../../geometry/index.ts";
import { formatNumber } from "../../quantity/index.ts";
import { benchFigure, type Check, imageFigure, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

export const imageSize: Check = {
  id: "image-size",
  link: "image",
  title: "Size of the image",
  about:
    "A recording has room for a fixed number of blocks. An image with fewer bytes is cut short; one with more belongs to another recording, or carries a byte of error code for each block at its end.",
  formula: "bytes = Σ over tracks and sides (sectors × bytes a sector)",
  sources: [RULES.arithmetic],
  run({ bench, images }) {
    return images
      .filter((image) => !image.problem)
      .map((image): Outcome => {
        const about = image.name;
        const described = bench.images.find((each) => each.name === image.name);
        const at = described?.path ?? "images";
        const recording = described?.recording;
        if (!recording)
          return unknown(
            `How ${image.name} is recorded is not said, so its size of ${formatNumber(image.size, 9)} bytes cannot be judged.`,
            [`${at}.recording`],
            { about, at },
          );
        const map = mapBlocks(recording.geometry);
        const extra = image.size - map.bytes;
        const shared = {
          about,
          at,
          figures: [
            imageFigure("size", `${formatNumber(image.size, 9)} bytes`, image.name),
            benchFigure("recording", recording.title, `${at}.recording`),
            worked("room of the recording", `${formatNumber(map.blocks)} blocks, ${formatNumber(map.bytes, 9)} bytes`),
          ],
          result: `${formatNumber(image.size, 9)} of ${formatNumber(map.bytes, 9)} bytes`,
          sources: [recording.source],
        };
        if (extra === 0 || extra === map.blocks)
          return {
            ...shared,
            verdict: "runs",
            sentence: `${image.name} has just the ${formatNumber(map.blocks)} blocks of ${recording.title}${extra ? ", with a byte of error code for each" : ""}.`,
          };
        if (extra < 0)
          return {
            ...shared,
            verdict: image.volume ? "tight" : "stops",
            sentence: `${image.name} is ${formatNumber(-extra, 9)} bytes short of ${recording.title}.`,
            remedy: "Look for a complete copy, or name the recording that the image really has.",
          };
        return {
          ...shared,
          verdict: "stops",
          sentence: `${image.name} is ${formatNumber(extra, 9)} bytes larger than ${recording.title} holds.`,
          remedy: "Name the recording that the image really has (`rouse look` tells what it found).",
        };
      });
  },
};
