import type { BenchComputer, BenchRegion } from "../bench/index.ts";
import { namesIn } from "../catalogue/index.ts";
import { InputError } from "../errors/index.ts";
import { orderOf } from "./algebra.ts";

/** What the latches hold and what the translation board does: all that decides which byte answers an address. */
export interface MapState {
  readonly latches: Readonly<Record<string, number>>;
  readonly translation?: {
    readonly on: boolean;
    /** Number of the map that the CPU uses, and of the one that is written. */
    readonly task: number;
    readonly writes: number;
    /** Physical block of each logical one, for each map. */
    readonly maps: readonly (readonly number[])[];
  };
}

/** A latch that changes what the CPU sees. */
export interface Latch {
  name: string;
  path: string;
  bits: number;
  /** Where it is written; `port` where that is the number of a port. */
  at?: number;
  port: boolean;
  readable?: boolean;
  powerOn: number;
  /** True where the bench does not say what it holds at power-on, so that 0 is taken. */
  assumed: boolean;
}

/** The translation of addresses, with every value that the bench leaves out worked out. */
export interface Translation {
  block: number;
  blocks: number;
  tasks: number;
  /** Logical blocks in the CPU's 64 KiB. */
  logical: number;
  fixed: readonly { from: number; to: number }[];
  at?: number;
  latch?: {
    at?: number | undefined;
    enable?: number | undefined;
    task?: number | undefined;
    write?: number | undefined;
  };
  board?: string;
  /** The map that the system starts with; block n behind block n where the bench does not say. */
  map: readonly number[];
  powerOn: boolean;
}

const SPACE = 0x1_0000;

export function latchesOf(computer: BenchComputer): Latch[] {
  const latches: Latch[] = [];
  for (const region of computer.regions)
    if (region.kind === "window") {
      const { latch } = region;
      latches.push({
        name: region.name,
        path: `${region.path}.latch`,
        bits: latch?.bits ?? Math.max(1, Math.ceil(Math.log2(region.banks ?? 1))),
        port: false,
        powerOn: latch?.powerOn ?? 0,
        assumed: latch?.powerOn === undefined,
        ...(latch === undefined ? {} : { at: latch.at }),
        ...(latch?.readable === undefined ? {} : { readable: latch.readable }),
      });
    }
  for (const { name, path, at, port, bits, readable, powerOn } of computer.latches)
    latches.push({
      name,
      path,
      bits: bits ?? 1,
      port,
      powerOn: powerOn ?? 0,
      assumed: powerOn === undefined,
      ...(at === undefined ? {} : { at }),
      ...(readable === undefined ? {} : { readable }),
    });
  return latches;
}

/** The translation of a computer, where it is fitted and its block is known. */
export function translationOf(computer: BenchComputer, physicalBytes: number): Translation | undefined {
  const written = computer.translation;
  const block = written?.block?.value;
  if (!written || written.fitted === false || block === undefined) return undefined;
  const logical = SPACE / block;
  const blocks = written.blocks ?? Math.floor(physicalBytes / block);
  return {
    block,
    blocks,
    tasks: written.tasks ?? 1,
    logical,
    fixed: (written.fixed ?? []).map(({ at, size }) => ({ from: at, to: Math.min(SPACE - 1, at + size.value - 1) })),
    map: Array.from({ length: logical }, (_, index) => written.map?.[index] ?? index),
    powerOn: written.powerOn === "on",
    ...(written.at === undefined ? {} : { at: written.at }),
    ...(written.latch === undefined ? {} : { latch: written.latch }),
    ...(written.board === undefined ? {} : { board: written.board }),
  };
}

/** Latches that an equation of a region depends on, or whose bank it shows. */
export function latchesThatMatter(computer: BenchComputer, latches: readonly Latch[]): Latch[] {
  const names = new Set<string>();
  const note = (region: BenchRegion) => {
    if (region.kind === "window") names.add(region.name);
    for (const logic of [...(region.select ?? []).slice(0, 1).map((each) => each.logic), region.when ?? []].flat())
      for (const each of [logic, ...orderOf(logic, computer.logic.signals).map((s) => computer.logic.signals.get(s)!)])
        for (const name of namesIn(each)) names.add(name.replace(/\.\d+$/, ""));
  };
  for (const region of computer.regions) note(region);
  return latches.filter((each) => names.has(each.name));
}

/** `3`, `$3` or `0x3`; not a number for anything else, an empty value among them. */
function wholeNumber(text: string): number {
  const [, hexadecimal, decimal] = /^(?:(?:\$|0x)([\da-f]{1,4})|(\d{1,6}))$/i.exec(text) ?? [];
  return hexadecimal ? Number.parseInt(hexadecimal, 16) : Number(decimal);
}

/** Reads `latch=3,translation=on,task=1,map.5=12` over a state; `map.5` is the entry of logical block 5 in the task's map. Throws an `InputError` for names and values that there are not. */
export function parseState(text: string, start: MapState, latches: readonly Latch[]): MapState {
  const values: Record<string, number> = { ...start.latches };
  let { translation } = start;
  const wrong = (sentence: string): never => {
    throw new InputError("bad-state", sentence);
  };
  for (const part of text.split(",").map((each) => each.trim())) {
    if (part === "") continue;
    const at = part.indexOf("=");
    const name = part.slice(0, Math.max(0, at)).trim();
    const value = part.slice(at + 1).trim();
    const latch = latches.find((each) => each.name === name);
    if (at < 0) wrong(`“${part}” sets nothing; expected something like “${latches[0]?.name ?? "latch"}=3”`);
    else if (latch) {
      const number = wholeNumber(value);
      if (!(number < 2 ** latch.bits))
        wrong(`“${value}” is no value of ${name}: it has ${latch.bits} bits, 0 to ${2 ** latch.bits - 1}`);
      values[name] = number;
    } else if (translation && name === "translation") {
      if (value !== "on" && value !== "off") wrong(`“translation” is on or off, not “${value}”`);
      translation = { ...translation, on: value === "on" };
    } else if (translation && name === "task") {
      if (!/^\d+$/.test(value) || Number(value) >= translation.maps.length)
        wrong(`“${value}” is no map; there are ${translation.maps.length}, from 0`);
      translation = { ...translation, task: Number(value), on: true };
    } else if (translation && /^map\.\d+$/.test(name)) {
      const { maps, task } = translation;
      const entry = Number(name.slice(4));
      const map = maps[task] ?? [];
      const block = wholeNumber(value);
      if (entry >= map.length) wrong(`“${name}” is no entry of a map; there are ${map.length}, from 0`);
      if (!(block <= 0xff)) wrong(`“${value}” is no physical block; an entry holds 0 to 255`);
      translation = withEntry(translation, task, entry, block);
    } else
      wrong(
        `There is no latch “${name}”; there is ${[...latches.map((each) => each.name), ...(translation ? ["translation", "task", "map.0"] : [])].join(", ") || "none"}`,
      );
  }
  return { latches: values, ...(translation ? { translation } : {}) };
}

type Maps = NonNullable<MapState["translation"]>;

/** The same with another physical block in one entry of one map. */
export const withEntry = (held: Maps, task: number, entry: number, block: number): Maps => ({
  ...held,
  maps: held.maps.map((map, index) => (index === task ? map.map((each, at) => (at === entry ? block : each)) : map)),
});

/** A state as `parseState` reads it: `window=3,translation=on,task=1`, and entries of the map that are not as in `start`. */
export function stateText(state: MapState, start?: MapState): string {
  const parts = Object.entries(state.latches).map(([name, value]) => `${name}=${value}`);
  const { translation } = state;
  if (!translation) return parts.join(",");
  if (translation.on) parts.push("translation=on", `task=${translation.task}`);
  else parts.push("translation=off");
  const first = start?.translation?.maps[translation.task];
  if (translation.on && first)
    for (const [entry, block] of (translation.maps[translation.task] ?? []).entries())
      if (block !== first[entry]) parts.push(`map.${entry}=${block}`);
  return parts.join(",");
}
