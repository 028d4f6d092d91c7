import { formatQuantity } from "../../quantity/index.ts";
import { type Check, figureOf, type Outcome, unknown } from "../frame.ts";
import { RULES } from "../rules.ts";

export const mediumDrive: Check = {
  id: "medium-drive",
  link: "medium",
  title: "Medium and drive",
  about:
    "The jacket must fit the slot, and the write current must suit the coating: a coating of higher coercivity is not written through, one of lower coercivity is over-written and fades.",
  formula: "size equal; lowest ≤ coercivity ≤ highest that the drive writes well",
  sources: [RULES.arithmetic],
  run({ bench }) {
    return bench.images.flatMap((image): Outcome[] => {
      const about = image.name;
      const { medium, drive } = image;
      if (!medium)
        return [unknown(`What medium ${image.name} goes on is not said.`, [`${image.path}.medium`], { about })];
      if (!drive) return [];
      const figures = [
        ...(medium.size ? [figureOf(`size of ${medium.name}`, medium.size, medium.path)] : []),
        ...(drive.size ? [figureOf(`size for ${drive.name}`, drive.size, drive.path)] : []),
        ...(medium.coercivity ? [figureOf(`coercivity of ${medium.name}`, medium.coercivity, medium.path)] : []),
        ...(drive.coercivity
          ? [
              figureOf("lowest it writes well", drive.coercivity.low),
              figureOf("highest it writes well", drive.coercivity.high),
            ]
          : []),
      ];
      const shared = { about, at: medium.path, figures };
      if (medium.size && drive.size && medium.size.value !== drive.size.value)
        return [
          {
            ...shared,
            verdict: "stops",
            sentence: `${medium.name} is a ${medium.size.value} disk and ${drive.name} takes ${drive.size.value}.`,
            remedy: `Use a ${drive.size.value} disk.`,
          },
        ];
      const missing = [
        ...(medium.size ? [] : [`${medium.path}.size`]),
        ...(drive.size ? [] : [`${drive.path}.size`]),
        ...(medium.coercivity ? [] : [`${medium.path}.coercivity`]),
        ...(drive.coercivity ? [] : [`${drive.path}.class`]),
      ];
      if (!medium.coercivity || !drive.coercivity || missing.length > 0)
        return [unknown(`Whether ${drive.name} writes ${medium.name} well cannot be said.`, missing, shared)];
      const { low, high } = drive.coercivity;
      const value = medium.coercivity.value.value;
      if (value > high.value.value || value < low.value.value)
        return [
          {
            ...shared,
            verdict: "stops",
            sentence: `${medium.name} has a coercivity of ${formatQuantity(medium.coercivity.value)}; ${drive.name} is made for ${formatQuantity(low.value)} to ${formatQuantity(high.value)}, so what it writes ${value > high.value.value ? "does not take" : "is over-driven and fades"}.`,
            remedy: "Use a medium of the density that the drive was made for.",
          },
        ];
      return [
        { ...shared, verdict: "runs", sentence: `${medium.name} fits ${drive.name}, in size and in coercivity.` },
      ];
    });
  },
};
