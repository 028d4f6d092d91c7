import type { Sourced } from "../../catalogue/index.ts";
import { formatNumber, formatQuantity, formatValue } from "../../quantity/index.ts";
import { type Check, figureOf, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

/** Speeds and densities that differ by less are the same; real drives are specified to 1 to 2 %. */
const SAME = 0.025;

const near = (a: number, b: number) => Math.abs(a / b - 1) <= SAME;

export const driveRecording: Check = {
  id: "drive-recording",
  link: "drive",
  title: "Recording and drive",
  about:
    "The drive must turn at the speed the recording was laid out for, step at its track density, and its electronics must handle the code and the bit rate.",
  formula: "code among the drive's; rpm and tracks an inch within 2.5 %; bit rate within the drive's range",
  sources: [RULES.arithmetic, RULES.common],
  run({ bench }) {
    return bench.images.flatMap((image): Outcome[] => {
      const about = image.name;
      const { drive, recording } = image;
      if (!recording)
        return [unknown(`How ${image.name} is recorded is not said.`, [`${image.path}.recording`], { about })];
      if (!drive) return [];
      const faults: string[] = [];
      const missing: string[] = [];
      const figures = [
        worked("code", recording.code),
        figureOf("speed of the recording", recording.rotation),
        figureOf("track density of the recording", recording.trackDensity),
        ...recording.rates.map((rate, index) =>
          figureOf(recording.rates.length > 1 ? `bit rate, zone ${index + 1}` : "bit rate", rate),
        ),
      ];
      if (drive.codes) {
        figures.push(
          figureOf(
            `codes of ${drive.name}`,
            { value: drive.codes.value.join(", "), source: drive.codes.source },
            drive.path,
          ),
        );
        if (!drive.codes.value.includes(recording.code))
          faults.push(`it records ${drive.codes.value.join(" and ")}, not ${recording.code}`);
      } else missing.push(`${drive.path}.codes`);
      if (drive.size && drive.size.value !== recording.size)
        faults.push(`it takes ${drive.size.value} disks, and this is a ${recording.size} recording`);
      else if (!drive.size) missing.push(`${drive.path}.size`);
      const compare = (ours: Sourced | undefined, theirs: Sourced, what: string, key: string) => {
        if (!ours) {
          missing.push(`${drive.path}.${key}`);
          return;
        }
        figures.push(figureOf(`${what} of ${drive.name}`, ours, drive.path));
        if (!near(ours.value.value, theirs.value.value))
          faults.push(
            `its ${what} is ${formatQuantity(ours.value)}, where the recording has ${formatQuantity(theirs.value)}`,
          );
      };
      compare(drive.rotation, recording.rotation, "speed", "rotation");
      compare(drive.trackDensity, recording.trackDensity, "track density", "trackDensity");
      if (drive.rates && drive.rates.length > 0) {
        const rates = drive.rates.map((each) => each.value.value);
        const [low, high] = [Math.min(...rates) * (1 - SAME), Math.max(...rates) * (1 + SAME)];
        const zoned = recording.code === "zoned 4-to-5 group code";
        const odd = recording.rates.find((each) =>
          zoned
            ? each.value.value < low || each.value.value > high
            : !rates.some((rate) => near(rate, each.value.value)),
        );
        figures.push(
          worked(
            `bit rates of ${drive.name}`,
            drive.rates.map((each) => formatValue(each.value.value, "rate")).join(", "),
          ),
        );
        if (odd) faults.push(`it does not handle ${formatQuantity(odd.value)}`);
      }
      const shared = { about, at: drive.path, figures };
      if (faults.length > 0)
        return [
          {
            ...shared,
            verdict: "stops",
            sentence: `${drive.name} cannot read ${image.name} (${recording.title}): ${faults.join("; ")}.`,
            remedy: `Use a drive for ${recording.title} (\`rouse catalogue drives\` lists the classes).`,
          },
        ];
      if (missing.length > 0)
        return [
          unknown(
            `Whether ${drive.name} can read ${image.name} cannot be said: ${missing.join(", ")} missing.`,
            missing,
            shared,
          ),
        ];
      return [
        {
          ...shared,
          verdict: "runs",
          sentence: `${drive.name} reads ${recording.code} at ${formatNumber(recording.rotation.value.value * 60, 4)} rpm and the track density of ${image.name}.`,
        },
      ];
    });
  },
};
