import type { Damage, Entry, TreeEntry, Volume } from "../types.ts";
import { buildChainedBlock, type ChainedBlockOptions, chainedBlock } from "./index.ts";
import { BLOCK, layoutOf, trackOf } from "./layout.ts";
import { entryOffset } from "./map.ts";

/** For tests: a volume that is built whole, then spoilt byte by byte. Throws where a test is not what it means to be. */
export class Bench {
  image: Uint8Array;
  readonly layout;
  readonly whole: Volume;

  constructor(tree: TreeEntry[], name: "35-track" | "77-track-two-sided" = "35-track") {
    this.layout = layoutOf(name);
    this.image = buildChainedBlock(tree, { layout: name, name: "test", id: "a1" });
    this.whole = this.open();
    if (this.whole.damages.length > 0) throw new Error("The volume is not whole to begin with.");
  }
  open(more: Partial<ChainedBlockOptions> = {}): Volume {
    return chainedBlock.open(this.image, { layout: this.layout.name, errorBytes: false, ...more });
  }
  entry(path: string, volume = this.whole): Entry {
    return volume.entries.find((entry) => entry.path === path)!;
  }
  poke(block: number, offset: number, ...bytes: number[]): void {
    this.image.set(bytes, block * BLOCK + offset);
  }
  point(block: number, offset: number, to: number): void {
    const track = trackOf(this.layout, to);
    this.poke(block, offset, track, to - this.layout.firstBlock[track]!);
  }
  /** Pokes the directory slot of the n-th file; offsets as the guides count them, the type at 0. */
  slot(n: number, offset: number, ...bytes: number[]): void {
    this.poke(this.layout.directoryBlock, 2 + 32 * n + offset, ...bytes);
  }
  setFree(block: number, free: boolean): void {
    const track = trackOf(this.layout, block);
    const kept = this.layout.mapBlocks.find((each) => track >= each.from && track < each.to)!;
    const at = entryOffset(this.layout, kept, track);
    const sector = block - this.layout.firstBlock[track]!;
    const bit = 1 << (sector & 7);
    const byte = at + 1 + (sector >> 3);
    if (((this.image[byte]! & bit) !== 0) === free) throw new Error(`Block ${block} is as asked already.`);
    this.image[byte]! ^= bit;
    this.image[at]! += free ? 1 : -1;
  }
  /** Opens and expects damages of just these codes; gives them by code. */
  told(...codes: string[]): { volume: Volume; by: Record<string, Damage> } {
    const volume = this.open();
    const found = volume.damages.map((damage) => damage.code);
    if (found.sort().join() !== codes.sort().join()) throw new Error(`Expected ${codes}, was told ${found}.`);
    return { volume, by: Object.fromEntries(volume.damages.map((damage) => [damage.code, damage])) };
  }
}

export const counting = (length: number, from = 0): Uint8Array =>
  Uint8Array.from({ length }, (_, i) => (i * 13 + from) & 0xff);
export const file = (path: string, length: number, wishes: NonNullable<TreeEntry["wishes"]> = {}): TreeEntry => ({
  path,
  type: "file",
  bytes: counting(length, path.length),
  wishes,
});
