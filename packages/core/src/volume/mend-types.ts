import type { Candidate } from "./types.ts";

/** One repair: bytes to write, all or none of them. */
export interface Edit {
  /** The damage that it mends. */
  code: string;
  /** What is changed, in one sentence. */
  sentence: string;
  files: readonly string[];
  /** True where the volume stops claiming content that was gone already: the loss stays, and must be told. */
  loss?: boolean;
  writes: readonly (readonly [offset: number, bytes: ArrayLike<number>])[];
}

/** A kind of repair: looks at the image as it stands and says what to write. */
type MendStep<Options = unknown> = (image: Uint8Array, options: Options) => Edit[];

export interface Mender<Options = unknown> {
  kind: Candidate["kind"];
  /** In the order in which they must be done. */
  steps: readonly MendStep<Options>[];
}

/** Blocks that may be given to a file: those that nobody owns, and of them last the ones that a deleted file could be had from. */
export function freeBlocks(
  count: number,
  isFree: (block: number) => boolean,
  deleted: Iterable<readonly number[]>,
): () => number | undefined {
  const remembered = new Set<number>();
  for (const blocks of deleted) for (const block of blocks) remembered.add(block);
  const order: number[] = [];
  const last: number[] = [];
  for (let block = 0; block < count; block++) if (isFree(block)) (remembered.has(block) ? last : order).push(block);
  order.push(...last);
  let next = 0;
  return () => order[next++];
}

export const u16le = (value: number): number[] => [value & 0xff, (value >> 8) & 0xff];
export const u32le = (value: number): number[] => [...u16le(value), ...u16le(value >>> 16)];
export const u16be = (value: number): number[] => [(value >> 8) & 0xff, value & 0xff];
export const u24be = (value: number): number[] => [(value >> 16) & 0xff, ...u16be(value)];

export const counted = (count: number, one: string, many = `${one}s`): string => `${count} ${count === 1 ? one : many}`;
