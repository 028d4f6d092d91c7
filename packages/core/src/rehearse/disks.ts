import type { Bench, BenchImage } from "../bench/index.ts";
import { InputError } from "../errors/index.ts";
import { type ParameterId, timedBench } from "../timing/index.ts";
import { DiskDrive } from "./drive.ts";

const MECHANICS: readonly ParameterId[] = ["step", "settle", "headLoad", "motorStart", "buffers"];

/** The drives that hold an image, that of the show first. Throws an `InputError` where that one lacks what its time rests on. */
export function disksOf(
  bench: Bench,
  images: ReadonlyMap<string, Uint8Array>,
  hertz: number,
  phase: number,
): { drives: DiskDrive[]; assumed: string[] } {
  const assumed: string[] = [];
  const shown = bench.show?.image ?? bench.images[0];
  const order = [...(shown ? [shown] : []), ...bench.images.filter((each) => each !== shown)];
  const taken = new Set<BenchImage["drive"]>();
  const drives = order.flatMap((image) => {
    if (image.drive && taken.has(image.drive)) {
      assumed.push(`${image.name} is not in ${image.drive.name}: another disk is.`);
      return [];
    }
    const timed = timedBench(bench, image.name);
    const bytes = images.get(image.file);
    const lacking = [...timed.lacking, ...(bytes ? [] : [`${image.path}.file (${image.file})`])];
    if (lacking.length > 0) {
      const sentence = `${image.name} is in no drive: ${lacking.join(", ")} is missing.`;
      if (image === shown) throw new InputError("no-disk", sentence);
      assumed.push(sentence);
      return [];
    }
    taken.add(image.drive);
    const buffered = (timed.parameters.find(({ id }) => id === "buffers")?.value ?? 1) > 0;
    for (const { id, key, label, value } of timed.parameters)
      if (value === undefined && (MECHANICS.includes(id) || (id === "busRate" && buffered)))
        assumed.push(`${image.drive!.name}: ${label} takes no time, since ${key} is not given.`);
    return [new DiskDrive(timed, bytes!, hertz, phase)];
  });
  return { drives, assumed };
}
