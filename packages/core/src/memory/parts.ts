import type { BenchComputer, BenchRegion } from "../bench/index.ts";

/** Memory chips that belong together, or a device: what answers behind one or more regions. */
export interface Part {
  /** The region whose chips they are. */
  name: string;
  path: string;
  kind: BenchRegion["kind"];
  /** Every region that shows them. */
  regions: readonly string[];
  board?: string;
  /** Part number, and how many chips a row has and how many rows there are, where the catalogue knows it. */
  chips?: string;
  columns?: number;
  rows?: number;
  words?: number;
  places?: readonly string[];
  /** Bytes that regions show of it, from the first one. */
  bytes: number;
  banks?: number;
  /** Bytes of a bank. */
  bank?: number;
}

/** One chip that holds some bits of a byte. */
export interface ChipAt {
  /** Bits of the byte, the lowest first. */
  bits: readonly number[];
  /** Number of the chip among the part's, from 0: row after row, bit 0 first. */
  index: number;
  row: number;
  place?: string;
  /** Cell or word inside the chip. */
  word: number;
}

/** Where a region's bytes are: a part, and the offset of the region's first byte in it. */
export interface Seat {
  part: Part;
  offset: number;
}

const sizeOf = (region: BenchRegion): number => region.to - region.from + 1;

/** Parts behind a computer's regions, and the seat of every region by name. */
export function partsOf(computer: BenchComputer): { parts: Part[]; seats: Map<string, Seat> } {
  const byName = new Map(computer.regions.map((each) => [each.name, each]));
  const ownerOf = (region: BenchRegion): { owner: BenchRegion; offset: number } => {
    let owner = region;
    let offset = region.offset ?? 0;
    const passed = new Set([region.name]);
    while (owner.shares !== undefined) {
      const next = byName.get(owner.shares);
      if (!next || passed.has(next.name)) break;
      passed.add(next.name);
      owner = next;
      offset += next.shares === undefined ? 0 : (next.offset ?? 0);
    }
    return { owner, offset };
  };
  const owners = computer.regions.map((each) => ({ each, at: ownerOf(each) }));
  const parts = new Map<string, Part>();
  const seats = new Map<string, Seat>();
  for (const {
    at: { owner },
  } of owners) {
    if (parts.has(owner.name)) continue;
    const shown = owners.filter(({ at }) => at.owner === owner);
    const bytes = Math.max(...shown.map(({ each, at }) => at.offset + sizeOf(each) * (each.banks ?? 1)));
    const memory = owner.kind === "io" ? undefined : owner.chip?.memory;
    const columns = memory && 8 % memory.bits === 0 ? 8 / memory.bits : undefined;
    parts.set(owner.name, {
      name: owner.name,
      path: owner.path,
      kind: owner.kind,
      regions: shown.map(({ each }) => each.name),
      bytes,
      ...(owner.board === undefined ? {} : { board: owner.board }),
      ...(owner.chips === undefined ? {} : { chips: owner.chips }),
      ...(memory && columns ? { columns, words: memory.words, rows: Math.ceil(bytes / memory.words) } : {}),
      ...(owner.places === undefined ? {} : { places: owner.places }),
      ...(owner.kind === "window" ? { banks: owner.banks ?? 1, bank: sizeOf(owner) } : {}),
    });
  }
  for (const { each, at } of owners) seats.set(each.name, { part: parts.get(at.owner.name)!, offset: at.offset });
  return { parts: [...parts.values()], seats };
}

/** Chips that hold the byte at an offset of a part, bit 0 first; none where the catalogue does not know them. */
export function chipsAt(part: Part, offset: number): ChipAt[] {
  const { columns, words, places } = part;
  if (!columns || !words) return [];
  const row = Math.floor(offset / words);
  const width = 8 / columns;
  return Array.from({ length: columns }, (_, column) => {
    const index = row * columns + column;
    const place = places?.[index];
    return {
      bits: Array.from({ length: width }, (_, bit) => column * width + bit),
      index,
      row,
      word: offset % words,
      ...(place === undefined ? {} : { place }),
    };
  });
}
