import { formatQuantity } from "../../quantity/index.ts";
import { type Check, figureOf, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

export const mediumRecording: Check = {
  id: "medium-recording",
  link: "medium",
  title: "Medium and recording",
  about:
    "A medium is certified for a number of sides and for a track density. Beyond that it may work, but nobody tested it; a recording may also belong on another class of medium altogether.",
  formula: "sides certified ≥ sides recorded; track density certified ≥ track density recorded",
  sources: [RULES.arithmetic, RULES.common],
  run({ bench }) {
    return bench.images.flatMap((image): Outcome[] => {
      const about = image.name;
      const { medium, recording } = image;
      if (!medium || !recording) return [];
      const missing = [
        ...(medium.sides ? [] : [`${medium.path}.sides`]),
        ...(medium.trackDensity ? [] : [`${medium.path}.trackDensity`]),
      ];
      const figures = [
        worked("sides recorded", recording.geometry.sides),
        figureOf("track density recorded", recording.trackDensity),
        ...(medium.sides ? [figureOf(`sides of ${medium.name}`, medium.sides, medium.path)] : []),
        ...(medium.trackDensity ? [figureOf(`track density of ${medium.name}`, medium.trackDensity, medium.path)] : []),
      ];
      const shared = { about, at: medium.path, figures };
      if (medium.size && medium.size.value !== recording.size)
        return [
          {
            ...shared,
            verdict: "stops",
            sentence: `${recording.title} belongs on a ${recording.size} disk, and ${medium.name} is ${medium.size.value}.`,
            remedy: `Use one of these: ${recording.media.join(", ")}.`,
          },
        ];
      if (!medium.sides || !medium.trackDensity)
        return [unknown(`What ${medium.name} was certified for is not known.`, missing, shared)];
      const weak: string[] = [];
      if (medium.sides.value < recording.geometry.sides) weak.push("for one side only");
      if (medium.trackDensity.value.value < recording.trackDensity.value.value * 0.975)
        weak.push(
          `for ${formatQuantity(medium.trackDensity.value)}, where the recording has ${formatQuantity(recording.trackDensity.value)}`,
        );
      if (medium.class && !recording.media.includes(medium.class.id) && weak.length === 0)
        weak.push(`as “${medium.class.title}”, which is not among the media of ${recording.title}`);
      if (weak.length > 0)
        return [
          {
            ...shared,
            verdict: "tight",
            sentence: `${medium.name} was certified ${weak.join(" and ")}.`,
            remedy: `Verify every block after writing, or use one of these: ${recording.media.join(", ")}.`,
          },
        ];
      return [{ ...shared, verdict: "runs", sentence: `${medium.name} is certified for ${recording.title}.` }];
    });
  },
};
