import type { BenchComputer, BenchRegion } from "../bench/index.ts";
import type { Logic } from "../catalogue/index.ts";
import { bitAlgebra, evaluate, inputsOf, tableAlgebra } from "./algebra.ts";
import type { MapState } from "./state.ts";

/** Addresses at which a region is selected, and the region's own offset at the first of them. */
export interface Stretch {
  from: number;
  to: number;
  offset: number;
  /** True where this is not the region's own place but a mirror of it. */
  mirror: boolean;
}

const SPACE = 0x1_0000;
const ADDRESS = Array.from({ length: 16 }, (_, bit) => `A${bit}`);

const latchBit = (state: MapState, name: string): boolean => {
  const dot = name.lastIndexOf(".");
  const value = state.latches[name.slice(0, dot)] ?? 0;
  return Math.floor(value / 2 ** Number(name.slice(dot + 1))) % 2 === 1;
};

/** Works out where one region is selected, in each state that makes a difference. */
export class RegionSelect {
  readonly region: BenchRegion;
  private readonly computer: BenchComputer;
  private readonly size: number;
  private readonly plain: readonly Stretch[];
  private readonly logic: Logic | undefined;
  /** Latch bits that the equations depend on, and whether they tell reads from writes. */
  private readonly bits: readonly string[];
  private readonly tellsReads: boolean;
  private readonly known = new Map<string, readonly Stretch[]>();

  constructor(region: BenchRegion, computer: BenchComputer) {
    this.region = region;
    this.computer = computer;
    this.size = region.to - region.from + 1;
    this.plain = plainStretches(region);
    const select = region.select?.[0]?.logic;
    const all = [select, region.when].flatMap((each) => each ?? []);
    const inputs = new Set(all.flatMap((each) => [...inputsOf(each, computer.logic.signals)]));
    // Where only `when` is given and looks at no address, the region is wholly there or wholly away.
    const looks = select !== undefined || [...inputs].some((name) => ADDRESS.includes(name));
    this.logic = looks ? { op: "and", of: [{ op: "const", value: true }, ...all] } : undefined;
    this.bits = [...inputs].filter((name) => name.includes("."));
    this.tellsReads = inputs.has("read");
  }

  stretches(state: MapState, read: boolean): readonly Stretch[] {
    const { when } = this.region;
    const input = (name: string) => (name === "read" ? read : latchBit(state, name));
    const { signals } = this.computer.logic;
    if (!this.logic) return when && !evaluate(when, signals, bitAlgebra(input)) ? [] : this.plain;
    const key = `${this.tellsReads ? read : ""}${this.bits.map((name) => (latchBit(state, name) ? 1 : 0)).join("")}`;
    let stretches = this.known.get(key);
    if (!stretches) {
      stretches = this.fromTable(evaluate(this.logic, signals, tableAlgebra(ADDRESS, input)));
      this.known.set(key, stretches);
    }
    return stretches;
  }

  /** Runs of a table's set rows, cut where the offset in the region wraps. Without `select`, only the region's own addresses. */
  private fromTable(table: Uint32Array): Stretch[] {
    const stretches: Stretch[] = [];
    const { from, to, select } = this.region;
    const own = new Uint8Array(SPACE);
    if (!select) for (const each of this.plain) own.fill(1, each.from, each.to + 1);
    let open: Stretch | undefined;
    for (let address = 0; address < SPACE; address++) {
      const set = (table[address >>> 5]! >>> (address & 31)) & 1 && (select || own[address]);
      const offset = (((address - from) % this.size) + this.size) % this.size;
      if (!set) open = undefined;
      else if (open && offset === open.offset + address - open.from) open.to = address;
      else {
        open = { from: address, to: address, offset, mirror: address < from || address > to };
        stretches.push(open);
      }
    }
    return stretches;
  }
}

/** Where a region is by its address, size and the lines that its select looks at. */
function plainStretches(region: BenchRegion): Stretch[] {
  const last = Math.min(region.to, SPACE - 1);
  if (region.decode === undefined) return [{ from: region.from, to: last, offset: 0, mirror: false }];
  const size = region.to - region.from + 1;
  const mask = region.decode;
  const stretches: Stretch[] = [];
  let open: Stretch | undefined;
  for (let address = 0; address < SPACE; address++) {
    const offset = address & (size - 1);
    if (((address ^ region.from) & mask) !== 0) open = undefined;
    else if (open && offset === open.offset + address - open.from) open.to = address;
    else {
      open = { from: address, to: address, offset, mirror: address < region.from || address > last };
      stretches.push(open);
    }
  }
  return stretches;
}
