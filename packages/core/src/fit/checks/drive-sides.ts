import { mapBlocks } from "../../geometry/index.ts";
import { formatNumber } from "../../quantity/index.ts";
import { benchFigure, type Check, figureOf, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

export const driveSides: Check = {
  id: "drive-sides",
  link: "drive",
  title: "Sides, tracks and capacity of the drive",
  about:
    "A drive with one head reads one side, and its head reaches a certain number of tracks. Blocks of the image beyond either cannot be read.",
  formula: "blocks out of reach = blocks on sides and tracks that the drive does not have",
  sources: [RULES.arithmetic, RULES.common],
  run({ bench, images }) {
    return bench.images.flatMap((image): Outcome[] => {
      const about = image.name;
      const { drive, recording } = image;
      if (!drive) return [unknown(`Which drive reads ${image.name} is not said.`, [`${image.path}.drive`], { about })];
      const surveyed = images.find((each) => each.name === image.name);
      const geometry = recording?.geometry ?? surveyed?.volume?.geometry;
      if (!geometry)
        return [unknown(`How ${image.name} lies on a disk is not known.`, [`${image.path}.recording`], { about })];
      const missing = (["sides", "tracks"] as const).filter((key) => !drive[key]).map((key) => `${drive.path}.${key}`);
      if (!drive.sides || !drive.tracks)
        return [unknown(`How many sides and tracks ${drive.name} has is not given.`, missing, { about })];
      const { blocks } = mapBlocks(geometry);
      const sides = geometry.sides === 2 ? [0, 1] : [0];
      let within = 0;
      for (const zone of geometry.zones)
        for (const side of sides) {
          if (side >= drive.sides.value || (zone.side !== undefined && zone.side !== side)) continue;
          within += zone.sectors * Math.max(0, Math.min(zone.to, drive.tracks.value - 1) - zone.from + 1);
        }
      const lost = blocks - within;
      const shared = {
        about,
        at: drive.path,
        figures: [
          recording
            ? benchFigure("recording", recording.title, `${image.path}.recording`)
            : worked("layout found on the image", surveyed!.volume!.format),
          worked("sides needed", geometry.sides),
          worked("tracks needed", geometry.tracks),
          worked("blocks", formatNumber(blocks)),
          figureOf(`sides of ${drive.name}`, drive.sides, drive.path),
          figureOf(`tracks of ${drive.name}`, drive.tracks, drive.path),
          worked("blocks out of reach", formatNumber(lost)),
        ],
        result: `${formatNumber(blocks - lost)} of ${formatNumber(blocks)} blocks within reach`,
      };
      if (geometry.sides > drive.sides.value)
        return [
          {
            ...shared,
            verdict: "stops",
            sentence: `${image.name} is an image for a two-sided disk and ${drive.name} reads one side: ${formatNumber(lost)} of its ${formatNumber(blocks)} blocks are out of reach.`,
            remedy: `Use a two-sided drive of the same kind, or copy what is needed onto an image for one side.`,
          },
        ];
      if (lost > 0)
        return [
          {
            ...shared,
            verdict: "stops",
            sentence: `${image.name} uses ${geometry.tracks} tracks and ${drive.name} reaches ${drive.tracks.value}: ${formatNumber(lost)} blocks are out of reach.`,
            remedy: "Use a drive with as many tracks as the image.",
          },
        ];
      return [
        {
          ...shared,
          verdict: "runs",
          sentence: `${drive.name} reaches all ${formatNumber(blocks)} blocks of ${image.name}.`,
        },
      ];
    });
  },
};
