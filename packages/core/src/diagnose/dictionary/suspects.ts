import type { Bench } from "../../bench/index.ts";
import { chipsAt, type Latch, type MemoryMap, type Part } from "../../memory/index.ts";
import type { LineFault, Within } from "../fault/lines.ts";
import type { MachineFault } from "../fault/machine.ts";
import type { MapFault } from "../fault/map-faults.ts";
import type { Candidate, Suspect } from "./types.ts";

/**
 * Every single fault of a bench's memory that is no fault of a cell: chips and their pins, lines between them, selects, refresh,
 * latches and translation. What a fault does is a model, common practice, no source; see docs/fault-coverage.md.
 */

const BOTH = [0, 1] as const;
const WIRED = ["and", "or"] as const;
const ALL = 0xff;

/** A memory part with what its chips are like. */
export interface ChipArray {
  part: Part;
  columns: number;
  words: number;
  rows: number;
  /** Address pins of a chip, each with the address bits that it carries: a row and a column bit where they are multiplexed. */
  pins: readonly (readonly number[])[];
  /** Rows that are refreshed one by one, and within how many seconds; for dynamic chips. */
  refresh?: { rows: number; within: number };
}

/** Parts of RAM whose chips the catalogue knows. */
export function arraysOf(bench: Bench, map: MemoryMap): ChipArray[] {
  return map.parts.flatMap((part): ChipArray[] => {
    const { columns, words, rows } = part;
    if ((part.kind !== "ram" && part.kind !== "window") || !columns || !words || !rows) return [];
    const memory = bench.computer?.regions.find((each) => each.name === part.name)?.chip?.memory;
    const lines = Math.ceil(Math.log2(words));
    const dynamic = memory?.type === "dynamic";
    const half = lines / 2;
    const pins = dynamic
      ? Array.from({ length: half }, (_, pin) => [pin, pin + half])
      : Array.from({ length: lines }, (_, pin) => [pin]);
    return [
      {
        part,
        columns,
        words,
        rows,
        pins,
        ...(dynamic && memory.refresh
          ? { refresh: { rows: memory.refresh.rows, within: memory.refresh.within.value.value } }
          : {}),
      },
    ];
  });
}

/** The chip of an array that holds a bit of a word. */
export function chipSuspect(array: ChipArray, row: number, column: number): Suspect {
  const { part, columns, words } = array;
  const chip = chipsAt(part, row * words)[column]!;
  const bits = chip.bits.reduce((sum, bit) => sum | (1 << bit), 0);
  const title = chip.place ?? `chip ${chip.index + 1} of ${part.name}`;
  const carries = chip.bits.length === 1 ? `bit ${chip.bits[0]}` : `bits ${chip.bits[0]} to ${chip.bits.at(-1)}`;
  return {
    id: `chip ${part.name} ${row * columns + column}`,
    kind: "chip",
    title: `${title} (${part.chips ?? "memory"}: ${carries} of ${part.name})`,
    part: part.name,
    chip: chip.index,
    bits,
    ...(chip.place === undefined ? {} : { place: chip.place }),
    ...(part.board === undefined ? {} : { board: part.board }),
  };
}

export function candidatesOf(bench: Bench, map: MemoryMap): Candidate[] {
  const arrays = arraysOf(bench, map);
  return [
    ...arrays.flatMap((array) => chipFaults(array)),
    ...arrays.flatMap((array) => arrayFaults(array, arrays.length > 1)),
    ...(arrays.length > 0 ? sharedFaults(arrays) : []),
    ...refreshFaults(bench, arrays),
    ...map.latches.flatMap((latch) => latchFaults(latch, map)),
    ...translationFaults(map),
  ];
}

function chipFaults(array: ChipArray): Candidate[] {
  const { part, words, rows, columns, pins } = array;
  const found: Candidate[] = [];
  for (let row = 0; row < rows; row++)
    for (let column = 0; column < columns; column++) {
      const suspect = chipSuspect(array, row, column);
      const bits = suspect.bits!;
      const within = rowOf(array, row);
      const add = (how: string, fault: LineFault) =>
        found.push({ suspect, how, fault: { on: "lines", part: part.name, fault, within } });
      for (const value of BOTH) {
        add(`output always ${value}`, { kind: "data", bits, value });
        if (columns < 8)
          for (let bit = 0; bit < 8; bit++)
            if (bits & (1 << bit))
              add(`data pin of bit ${bit} always ${value}`, { kind: "data", bits: 1 << bit, value });
        add(`slow in going to ${value}`, { kind: "slow", bits, edge: value });
        for (const [pin, lines] of pins.entries())
          add(`address pin ${pin} always ${value}`, { kind: "address", lines, value, bits });
      }
      add("write pin open", { kind: "no-write", bits });
    }
  return found.filter(({ fault }) => fault.on !== "lines" || reaches(fault.fault, Math.min(words, part.bytes)));
}

/** Words of a row of chips, as far as the part uses them. */
const rowOf = ({ part, words }: ChipArray, row: number): Within => ({
  from: row * words,
  to: Math.min(part.bytes, (row + 1) * words) - 1,
});

/** Whether a fault's address lines are used at all. */
const reaches = (fault: LineFault, words: number): boolean =>
  fault.kind === "address"
    ? fault.lines.some((line) => 2 ** line < words)
    : fault.kind !== "address-short" || fault.pairs.some((pair) => pair.every((line) => 2 ** line < words));

/** Lines that lead to one part only. */
function arrayFaults(array: ChipArray, several: boolean): Candidate[] {
  const { part, rows, pins, words } = array;
  const on = (fault: LineFault, within?: Within): MachineFault => ({
    on: "lines",
    part: part.name,
    fault,
    ...(within ? { within } : {}),
  });
  const base = { part: part.name, ...(part.board === undefined ? {} : { board: part.board }) };
  const found: Candidate[] = [];
  for (let row = 0; row < rows; row++) {
    const { from, to } = rowOf(array, row);
    const name = rows > 1 ? `row ${row + 1} of ${part.name}` : part.name;
    found.push({
      suspect: { ...base, id: `select ${part.name} ${row}`, kind: "select", title: `select of ${name}` },
      how: "never selected",
      fault: on({ kind: "select", from, to, floats: ALL }),
    });
  }
  found.push({
    suspect: { ...base, id: `write ${part.name}`, kind: "select", title: `write line to ${part.name}` },
    how: "open",
    fault: on({ kind: "no-write", bits: ALL }),
  });
  if (!several) return found;
  const to = ` to ${part.name}`;
  for (const fault of pinFaults(pins).filter((each) => reaches(each.fault, Math.min(words, part.bytes)))) {
    // Lines that the latch of a window drives are the same wires as its outputs.
    if (part.bank !== undefined && fault.pins.some((pin) => pins[pin]!.every((line) => 2 ** line >= part.bank!)))
      continue;
    found.push({
      suspect: { ...base, ...addressSuspect(fault.pins, to, part.name) },
      how: fault.how,
      fault: on(fault.fault),
    });
  }
  return found;
}

interface PinFault {
  pins: readonly number[];
  how: string;
  fault: LineFault;
}

/** Each address pin of a row of chips dead, and each joined to the next. */
function pinFaults(pins: ChipArray["pins"]): PinFault[] {
  return [
    ...pins.flatMap((lines, pin) =>
      BOTH.map(
        (value): PinFault => ({
          pins: [pin],
          how: `always ${value}`,
          fault: { kind: "address", lines, value, bits: ALL },
        }),
      ),
    ),
    ...pins.slice(1).flatMap((lines, index) =>
      WIRED.map(
        (wired): PinFault => ({
          pins: [index, index + 1],
          how: `joined, wired ${wired.toUpperCase()}`,
          fault: {
            kind: "address-short",
            pairs: lines.map((line, each) => [pins[index]![each]!, line] as const),
            wired,
            bits: ALL,
          },
        }),
      ),
    ),
  ];
}

const addressSuspect = (lines: readonly number[], to: string, scope: string): Suspect => ({
  id: `address ${scope} ${lines.join("-")}`,
  kind: "address line",
  title:
    lines.length === 1
      ? `address line ${lines[0]} of the chips${to}`
      : `address lines ${lines.join(" and ")} of the chips${to}`,
  lines,
});

/** Lines that serve all memory. */
function sharedFaults(arrays: readonly ChipArray[]): Candidate[] {
  const parts = arrays.map(({ part }) => part.name);
  const [first] = arrays as [ChipArray];
  const several = arrays.length > 1;
  const shared = (fault: LineFault): MachineFault =>
    several ? { on: "all lines", parts, fault } : { on: "lines", part: parts[0]!, fault };
  const found: Candidate[] = [];
  const alike = arrays.every(
    ({ pins }) => pins.length === first.pins.length && pins[0]!.length === first.pins[0]!.length,
  );
  if (alike) {
    const most = Math.max(...arrays.map(({ part, words }) => Math.min(words, part.bytes)));
    for (const fault of pinFaults(first.pins).filter((each) => reaches(each.fault, most)))
      found.push({
        suspect: addressSuspect(fault.pins, several ? ", all memory" : "", "all"),
        how: fault.how,
        fault: shared(fault.fault),
      });
    // Behind the multiplexer a pin carries two address bits; before it each has a line of its own.
    if (first.pins[0]!.length > 1)
      for (const line of first.pins.flat())
        for (const value of BOTH)
          found.push({
            suspect: {
              id: `multiplexer ${line}`,
              kind: "address line",
              title: `address bit ${line} into the row and column multiplexer`,
              lines: [line],
            },
            how: `always ${value}`,
            fault: shared({ kind: "address", lines: [line], value, bits: ALL }),
          });
  }
  // With one row of chips a bit's line and its chip cannot be told apart by any program: the chip is the suspect.
  if (several || first.rows > 1)
    for (let bit = 0; bit < 8; bit++)
      for (const value of BOTH)
        found.push({
          suspect: {
            id: `data ${bit}`,
            kind: "data line",
            title: `data line D${bit} of memory, or its buffer`,
            lines: [bit],
          },
          how: `always ${value}`,
          fault: shared({ kind: "data", bits: 1 << bit, value }),
        });
  for (let bit = 0; bit < 7; bit++)
    for (const wired of WIRED)
      found.push({
        suspect: {
          id: `data ${bit}-${bit + 1}`,
          kind: "data line",
          title: `data lines D${bit} and D${bit + 1} of memory`,
          lines: [bit, bit + 1],
        },
        how: `joined, wired ${wired.toUpperCase()}`,
        fault: shared({ kind: "data-short", lines: [bit, bit + 1], wired }),
      });
  return found;
}

/** Longer than chips are sold for: most hold far longer than their data sheet promises (common practice, no source). */
const HOLDS = 16;

function refreshFaults(bench: Bench, arrays: readonly ChipArray[]): Candidate[] {
  const dynamic = arrays.filter((each) => each.refresh);
  const [first] = dynamic;
  const hertz = bench.computer?.cpu?.clock?.value;
  if (!first?.refresh || hertz === undefined) return [];
  const fault: LineFault = {
    kind: "refresh",
    bits: ALL,
    rows: first.refresh.rows,
    hold: Math.round(first.refresh.within * HOLDS * hertz),
  };
  const parts = dynamic.map(({ part }) => part.name);
  return [
    {
      suspect: { id: "refresh", kind: "refresh", title: "refresh: its counter, or the way from there to the chips" },
      how: "no refresh",
      fault: parts.length > 1 ? { on: "all lines", parts, fault } : { on: "lines", part: parts[0]!, fault },
    },
  ];
}

function latchFaults(latch: Latch, map: MemoryMap): Candidate[] {
  if (!map.parts.some((part) => part.kind === "window" && part.name === latch.name)) return [];
  const found: Candidate[] = [];
  const add = (bits: readonly number[], how: string, fault: MapFault) =>
    found.push({
      suspect: {
        id: `latch ${latch.name} ${bits.join("-")}`,
        kind: "latch",
        title: `latch of ${latch.name}, ${bits.length === 1 ? `output ${bits[0]} or its line` : `outputs ${bits.join(" and ")}`}`,
        lines: bits,
      },
      how,
      fault: { on: "map", fault },
    });
  for (let bit = 0; bit < latch.bits; bit++) {
    for (const value of BOTH) add([bit], `always ${value}`, { kind: "latch", latch: latch.name, bit, value });
    if (bit + 1 < latch.bits)
      for (const wired of WIRED)
        add([bit, bit + 1], `joined, wired ${wired.toUpperCase()}`, {
          kind: "latch-short",
          latch: latch.name,
          bits: [bit, bit + 1],
          wired,
        });
  }
  return found;
}

/** Words and bits of one table chip, the usual 16 of 4. */
const TABLE_BITS = 4;

function translationFaults({ translation }: MemoryMap): Candidate[] {
  if (!translation) return [];
  const { tasks, logical, block, blocks, fixed, latch, board } = translation;
  const found: Candidate[] = [];
  const add = (id: string, title: string, how: string, fault: MapFault) =>
    found.push({
      suspect: { id, kind: "translation", title, ...(board === undefined ? {} : { board }) },
      how,
      fault: { on: "map", fault },
    });
  const bits = Math.max(1, Math.ceil(Math.log2(blocks)));
  for (const value of BOTH) {
    if (latch?.enable !== undefined)
      add("translation enable", "switch of the translation: its latch", `always ${value ? "on" : "off"}`, {
        kind: "enable",
        value,
      });
    if (latch?.task !== undefined)
      for (let bit = 0; 2 ** bit < tasks; bit++)
        add(`translation task ${bit}`, `number of the map, bit ${bit}: its latch`, `always ${value}`, {
          kind: "task",
          bit,
          value,
        });
    for (let bit = 0; bit < bits; bit++)
      add(`translation block ${bit}`, `bit ${bit} of the block number, from the tables`, `always ${value}`, {
        kind: "block-line",
        bit,
        value,
      });
    for (let bit = 0; 2 ** bit < logical; bit++)
      add(`translation entry ${bit}`, `address line ${bit} into the tables`, `always ${value}`, {
        kind: "entry-line",
        bit,
        value,
      });
    for (let map = 0; map < tasks; map++)
      for (let bit = 0; bit < bits; bit++) {
        const first = bit - (bit % TABLE_BITS);
        for (let entry = 0; entry < logical; entry++) {
          // Where nothing is translated an entry is never looked at.
          const [from, to] = [entry * block, entry * block + block - 1];
          if (fixed.some((each) => each.from <= from && each.to >= to)) continue;
          add(
            `translation table ${map} ${first}`,
            `table of map ${map}, bits ${first} to ${Math.min(bits, first + TABLE_BITS) - 1}`,
            `entry ${entry}: bit ${bit} always ${value}`,
            { kind: "block-cell", map, entry, bit, value },
          );
        }
      }
  }
  return found;
}
