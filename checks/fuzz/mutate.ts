import { openBest, survey } from "@rouse/core/volume";
import type { Sound } from "./images.ts";

/** Repeatable numbers from 0 up to 1 (mulberry32, public domain). */
function random(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let value = Math.imul(state ^ (state >>> 15), state | 1);
    value ^= value + Math.imul(value ^ (value >>> 7), value | 61);
    return ((value ^ (value >>> 14)) >>> 0) / 4294967296;
  };
}

/** A damaged copy of one of the images: up to a dozen changes, three of four of them in the volume's records. */
export function mutated(sounds: readonly Sound[], seed: number): Uint8Array {
  const next = random(seed);
  const below = (most: number): number => Math.floor(next() * most);
  const pick = <T>(list: readonly T[]): T => list[below(list.length)]!;
  // The full disk is slow to survey, so it comes once in ten.
  const sound = below(10) === 0 ? sounds[sounds.length - 1]! : sounds[below(Math.max(1, sounds.length - 1))]!;
  let image = sound.image.slice();
  const place = (): number => {
    if (sound.records.length === 0 || below(4) === 0) return below(image.length);
    const { at, length } = pick(sound.records);
    // The first bytes of a record block hold its links, counts and first names.
    return Math.min(image.length - 1, at + (below(3) === 0 ? below(Math.min(40, length)) : below(length)));
  };
  const block = (): number => Math.floor(place() / 256) * 256;
  const changes: (() => void)[] = [
    () => {
      image[place()] = below(256);
    },
    () => {
      image[place()]! ^= 1 << below(8);
    },
    () => {
      image[place()] = pick([0, 1, 0x7f, 0x80, 0xfe, 0xff, 0xe5]);
    },
    () => {
      const at = place();
      image.fill(pick([0, 0xff, 0xe5]), at, at + 1 + below(8));
    },
    () => {
      const at = place();
      for (let i = 0; i < 1 + below(32); i++) image[Math.min(at + i, image.length - 1)] = below(256);
    },
    () => {
      image.copyWithin(place(), place(), Math.min(image.length, place() + 1 + below(64)));
    },
    () => {
      const [to, from] = [block(), block()];
      image.copyWithin(to, from, from + 256);
    },
    () => {
      const at = block();
      image.fill(pick([0, 0xff, 0xe5]), at, at + 256 * (1 + below(3)));
    },
    () => {
      // An entry (32 bytes in every kind) copied over another.
      const [to, from] = [Math.floor(place() / 32) * 32, Math.floor(place() / 32) * 32];
      image.copyWithin(to, from, from + 32);
    },
  ];
  for (let count = 1 + below(12); count > 0; count--) pick(changes)();
  if (below(40) === 0) image = image.subarray(0, below(image.length));
  else if (below(80) === 0) {
    const longer = new Uint8Array(image.length + below(5000));
    longer.set(image);
    image = longer;
  }
  return image;
}

/** Bytes of the largest flexible disk of all kinds. */
const MOST_DISK = 80 * 2 * 36 * 512;

/** Surveys the image that a seed makes; on every eighth, all entries are read as well. Gives the milliseconds of the survey. */
export function surveyMutated(sounds: readonly Sound[], seed: number): { ms: number; known: boolean } {
  const image = mutated(sounds, seed);
  const start = performance.now();
  const before = process.cpuUsage();
  const found = survey(image);
  const { user, system } = process.cpuUsage(before);
  // Where other programs have the processor, the time spent in this one is the measure.
  const ms = Math.min(performance.now() - start, (user + system) / 1000);
  if (found.volume && seed % 8 === 0) {
    const { volume } = openBest(image);
    if (volume.entries.length !== found.volume.entries.length) throw new Error("two surveys of the same bytes differ");
    for (const entry of volume.entries.slice(0, 500)) {
      const { bytes, missing } = volume.read(entry);
      // A short image of a large disk gives contents as long as the disk has them, and no longer.
      if (bytes.length > 4 * image.length + MOST_DISK) throw new Error(`${bytes.length} bytes read from ${entry.path}`);
      for (const { offset, length } of missing)
        if (!(offset >= 0 && length > 0)) throw new Error(`a missing stretch of ${length} bytes at ${offset}`);
    }
  }
  return { ms, known: found.volume !== null };
}
