import type { CpuName } from "../../assemble/index.ts";
import type { MapState, MemoryMap, Segment } from "../../memory/index.ts";
import type { Space, Stretch } from "../types.ts";
import type { Ground } from "./place.ts";
import type { Select } from "./types.ts";

/** Bytes of the zero page that a 6502 program works with. */
export const WORK = 16;

/** Addresses that a program keeps for itself. */
export interface Kept {
  from: number;
  to: number;
  why: string;
}

/** What the program itself takes of the memory. */
export function keptBy(ground: Ground, length: number, work: number | undefined): Kept[] {
  const { from } = ground.code;
  return [
    ...(ground.place === "memory"
      ? [{ from, to: from + Math.max(1, length) - 1, why: "where this program lies" }]
      : []),
    ...(work === undefined ? [] : [{ from: work, to: work + WORK - 1, why: "which this program works with" }]),
  ];
}

const isMemory = ({ read, write, clash }: Segment): boolean =>
  clash.length === 0 &&
  read !== undefined &&
  write !== undefined &&
  (read.kind === "ram" || read.kind === "window") &&
  read.part === write.part &&
  read.offset === write.offset;

const sizeOf = (stretches: readonly Stretch[]): number =>
  stretches.reduce((sum, { from, to, views }) => sum + (to - from + 1) * (views ? views.last - views.first + 1 : 1), 0);

/** Stretches without what is kept, and what that leaves out. */
function without(stretches: readonly Stretch[], kept: readonly Kept[]): Pick<Space, "stretches" | "left"> {
  const left: { from: number; to: number; why: string }[] = [];
  let rest = [...stretches];
  for (const { from, to, why } of kept)
    rest = rest.flatMap((each) => {
      if (each.to < from || each.from > to) return [each];
      left.push({ from: Math.max(each.from, from), to: Math.min(each.to, to), why });
      return [
        ...(each.from < from ? [{ ...each, to: from - 1 }] : []),
        ...(each.to > to ? [{ ...each, from: to + 1 }] : []),
      ];
    });
  return { stretches: rest, left };
}

/** Memory that is there whatever the latches say. */
export function mainSpace(map: MemoryMap, kept: readonly Kept[]): Space | undefined {
  const { computer, powerOn } = map;
  const shown = map.view(powerOn);
  const stretches = shown
    .filter((each) => isMemory(each) && each.read!.kind === "ram" && !each.read!.mirror)
    .map(({ from, to }) => ({ from, to }));
  if (stretches.length === 0) return undefined;
  const found = without(stretches, kept);
  const hidden = shown
    .filter((each) => each.write?.kind === "ram" && !each.write.mirror && !isMemory(each))
    .map(({ from, to, read }) => ({ from, to, why: `which reads as ${read?.region ?? "nothing"}` }));
  return {
    name: computer.regions.find((each) => each.name === "main")?.name ?? "main",
    kind: "main",
    stretches: found.stretches,
    bytes: sizeOf(found.stretches),
    left: [...found.left, ...hidden],
  };
}

/** A window with all its banks. */
export interface WindowSpace {
  space: Space;
  select: Select;
}

export function windowSpaces(map: MemoryMap, notes: string[]): WindowSpace[] {
  return map.computer.regions.flatMap((region): WindowSpace[] => {
    if (region.kind !== "window") return [];
    const latch = map.latches.find((each) => each.name === region.name)!;
    if (latch.at === undefined) {
      notes.push(`The banks of ${region.name} are not tested: the address of its latch is not given.`);
      return [];
    }
    const last = Math.min(region.banks ?? 1, 2 ** latch.bits) - 1;
    const state: MapState = { ...map.powerOn, latches: { ...map.powerOn.latches, [region.name]: last } };
    const stretches = map
      .view(state)
      .filter((each) => isMemory(each) && each.read!.region === region.name && !each.read!.mirror)
      .map(({ from, to }) => ({ from, to, views: { first: 0, last } }));
    if (stretches.length === 0) {
      notes.push(
        `The banks of ${region.name} are not tested: they are not seen with the other latches as at power-on.`,
      );
      return [];
    }
    return [
      {
        select: { at: latch.at, port: latch.port },
        space: { name: region.name, kind: "window", stretches, bytes: sizeOf(stretches), left: [] },
      },
    ];
  });
}

/** Blocks whose number is one byte. */
const MOST_BLOCKS = 256;

/** Memory behind the translation board, through one logical block after it is switched on. */
export interface TranslationSpace extends WindowSpace {
  /** First address of the logical block, and the block's size. */
  frame: number;
  block: number;
  at: number;
  /** Logical blocks that are neither fixed nor needed by the program. */
  slots: readonly number[];
  /** Values of its latch: off, on with a map, and for writing a map. */
  latch?: { at: number; off: number; on: (task: number, writes: number) => number };
  tasks: number;
}

export function translationSpace(
  map: MemoryMap,
  ground: Ground,
  cpu: CpuName,
  kept: readonly Kept[],
  notes: string[],
): TranslationSpace | undefined {
  const { translation } = map;
  if (!translation) return undefined;
  const { block, logical, at, latch, tasks } = translation;
  const blocks = Math.min(translation.blocks, MOST_BLOCKS);
  if (blocks < translation.blocks)
    notes.push(`Of the ${translation.blocks} physical blocks the first ${blocks} are tested: a number of one byte.`);
  const cannot = (why: string): undefined => {
    notes.push(`What lies behind the translation is not tested: ${why}.`);
    return undefined;
  };
  if (at === undefined) return cannot("the address of its maps is not given");
  if (latch && latch.at === undefined) return cannot("the address of its latch is not given");
  const on = {
    ...map.powerOn,
    translation: {
      ...map.powerOn.translation!,
      on: true,
      maps: Array.from({ length: tasks }, () => Array.from({ length: logical }, (_, index) => index % blocks)),
    },
  };
  const before = map.view(map.powerOn);
  const behind = map.view(on);
  const alike = (address: number): boolean => {
    const answer = (view: readonly Segment[]) => {
      const segment = view.find(({ from, to }) => from <= address && address <= to);
      return segment?.read && `${segment.read.part} ${segment.read.offset + address - segment.from}`;
    };
    return answer(before) === answer(behind);
  };
  if (ground.place === "memory" && kept.some(({ from, to }) => !alike(from) || !alike(to)))
    return cannot("the program would lose the ground under its feet when it is switched on");
  const slots = Array.from({ length: logical }, (_, index) => index).filter((slot) => {
    const [first, last] = [slot * block, slot * block + block - 1];
    if (kept.some(({ from, to }) => from <= last && to >= first)) return false;
    // A stack and the zero page stay where they are.
    if (cpu === "6502" && first < 0x200) return false;
    const segment = behind.find(({ from, to }) => from <= first && to >= last);
    return segment !== undefined && isMemory(segment) && segment.read!.block === slot;
  });
  const frame = slots[0];
  if (frame === undefined) return cannot("no logical block is free to show physical ones in");
  // Blocks that hold the program, or what it works with, are what the CPU stands on.
  const taken = new Set(
    kept.flatMap(({ from, to }) => {
      const numbers: number[] = [];
      for (let each = Math.floor(from / block); each <= Math.floor(to / block); each++) numbers.push(each % blocks);
      return numbers;
    }),
  );
  const stretches: Stretch[] = [];
  const left: Space["left"][number][] = [];
  for (let number = 0; number < blocks; number++) {
    if (taken.has(number)) {
      left.push({ from: 0, to: block - 1, view: number, why: "which this program stands on" });
      continue;
    }
    const last = stretches.at(-1);
    if (last?.views && last.views.last === number - 1) last.views.last = number;
    else stretches.push({ from: frame * block, to: frame * block + block - 1, views: { first: number, last: number } });
  }
  const bit = (shift: number | undefined, value: number) => (shift === undefined ? 0 : value << shift);
  return {
    frame: frame * block,
    block,
    at,
    slots,
    tasks: latch?.task === undefined ? 1 : tasks,
    select: { at: at + frame, port: false },
    space: { name: "translation", kind: "translation", stretches, bytes: sizeOf(stretches), left },
    ...(latch?.at === undefined
      ? {}
      : {
          latch: {
            at: latch.at,
            off: 0,
            on: (task: number, writes: number) =>
              bit(latch.enable, 1) | bit(latch.task, task) | bit(latch.write, writes),
          },
        }),
  };
}
