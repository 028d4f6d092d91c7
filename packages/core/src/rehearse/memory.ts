import { InputError } from "../errors/index.ts";
import { type MemoryMap, type Seats, scramble } from "../memory/index.ts";

/** Where a region's first byte lies in its part, found in the first state of the latches that shows it. */
function offsetOf(map: MemoryMap, name: string): { part: string; offset: number } | undefined {
  for (const state of map.states())
    for (const { from, read } of map.view(state)) {
      if (read?.region !== name || read.mirror) continue;
      const region = map.computer.regions.find((each) => each.name === name)!;
      return { part: read.part, offset: read.offset - (from - region.from) };
    }
  return undefined;
}

/**
 * Fills the memory chips as they are at power-on: ROMs from their files, RAM with bytes that follow no rule but are the same
 * each time, so that a program that rests on cleared memory is found out. Throws an `InputError` for a ROM without its file.
 */
export function fillMemory(
  map: MemoryMap,
  memory: Uint8Array,
  seats: Seats,
  roms: ReadonlyMap<string, Uint8Array>,
): string[] {
  const assumed: string[] = [];
  scramble(memory);
  const filled = new Uint8Array(memory.length);
  const regions = map.computer.regions.filter((each) => each.kind === "rom");
  for (const { name } of map.parts.filter((each) => each.kind === "rom")) {
    const from = seats.get(name)!;
    memory.fill(0xff, from, from + map.part(name).bytes);
  }
  const seated = regions.map((region) => {
    const at = offsetOf(map, region.name);
    const seat = at && seats.get(at.part)!;
    return {
      region,
      at: at && seat! + at.offset,
      end: at && seat! + map.part(at.part).bytes,
      size: region.to - region.from + 1,
    };
  });
  for (const { region, at, end: chipEnd, size } of seated) {
    if (region.file === undefined || at === undefined) continue;
    const bytes = roms.get(region.file);
    if (!bytes) throw new InputError("no-rom", `A rehearsal needs the ROM image ${region.file} (${region.path}.file).`);
    if (bytes.length !== size)
      assumed.push(
        `${region.file} has ${bytes.length} bytes and ${region.name} ${size}: it is laid from the first on.`,
      );
    // What is longer fills the chip behind the region too, as far as the chip goes.
    const end = Math.min(at + bytes.length, chipEnd!);
    memory.set(bytes.subarray(0, end - at), at);
    filled.fill(1, at, end);
  }
  for (const { region, at } of seated)
    if (at !== undefined && region.file === undefined && !filled[at])
      throw new InputError("no-rom", `A rehearsal needs the ROM image of ${region.name}: give ${region.path}.file.`);
  return assumed;
}
