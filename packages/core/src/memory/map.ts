import type { Bench, BenchComputer, BenchRegion } from "../bench/index.ts";
import { chipsAt, type Part, partsOf, type Seat } from "./parts.ts";
import { RegionSelect, type Stretch } from "./regions.ts";
import {
  type Answer,
  type FullAnswer,
  inside,
  type Segment,
  type Selected,
  segmentAt,
  segmentsOf,
  without,
} from "./segments.ts";
import { type Latch, latchesOf, latchesThatMatter, type MapState, type Translation, translationOf } from "./state.ts";

/** A region's stretch of physical memory, all banks of a window end to end; `size` is that of a bank. */
interface Physical {
  from: number;
  to: number;
  size: number;
  region: BenchRegion;
}

/** Who answers an address, and what a write there sets. */
interface WhoAnswers {
  read?: FullAnswer;
  write?: FullAnswer;
  clash: readonly string[];
  hidden: readonly string[];
  sets: readonly string[];
}

/** Segments of views that are kept for the next time. */
const MOST_HELD = 100_000;

/** What a CPU sees, in every state of its latches. One source for the chain, the diagnostics and the rehearsal; pure. */
export class MemoryMap {
  readonly computer: BenchComputer;
  readonly parts: readonly Part[];
  readonly latches: readonly Latch[];
  readonly translation?: Translation;
  readonly powerOn: MapState;
  private readonly seats: ReadonlyMap<string, Seat>;
  private readonly selects: readonly RegionSelect[];
  /** Physical memory in the order of its blocks: where each stretch of it is. */
  private readonly physical: readonly Physical[];
  private readonly views = new Map<string, readonly Segment[]>();
  /** By the state itself, so that asking for many addresses of one state is quick. */
  private readonly lastViews = new WeakMap<MapState, readonly Segment[]>();
  private segmentsHeld = 0;

  constructor(computer: BenchComputer) {
    this.computer = computer;
    const { parts, seats } = partsOf(computer);
    this.parts = parts;
    this.seats = seats;
    this.selects = computer.regions.map((each) => new RegionSelect(each, computer));
    this.latches = latchesOf(computer);
    this.physical = physicalOrder(computer);
    const translation = translationOf(computer, this.physicalBytes);
    if (translation) this.translation = translation;
    this.powerOn = {
      latches: Object.fromEntries(this.latches.map(({ name, bits, powerOn }) => [name, powerOn % 2 ** bits])),
      ...(translation
        ? {
            translation: {
              on: translation.powerOn,
              task: 0,
              writes: 0,
              maps: Array.from({ length: translation.tasks }, () => translation.map),
            },
          }
        : {}),
    };
  }

  /** RAM that translation can reach, in bytes. */
  get physicalBytes(): number {
    return (this.physical.at(-1)?.to ?? -1) + 1;
  }

  /** Bytes of parts that translation can show somewhere, when its maps are written for it. */
  translated(): { part: string; from: number; to: number }[] {
    if (!this.translation) return [];
    const reach = this.translation.blocks * this.translation.block;
    return this.physical
      .filter((each) => each.from < reach)
      .map(({ from, to, region }) => {
        const { part, offset } = this.answer(region, 0, undefined, false);
        return { part, from: offset, to: offset + Math.min(to, reach - 1) - from };
      });
  }

  /** Number of states that `states` would go through. */
  get stateCount(): number {
    const { before, behind } = this.factors();
    const product = (each: readonly Latch[]) => each.reduce((count, latch) => count * 2 ** latch.bits, 1);
    return product(before) + (this.translation ? this.translation.tasks * product(behind) : 0);
  }

  /** Every state that makes a difference, the one at power-on first; translated states show the map they start with. */
  *states(most = 4096): Generator<MapState> {
    const { before, behind } = this.factors();
    let left = most;
    const tasks = this.translation?.tasks ?? 0;
    for (const task of [-1, ...Array.from({ length: tasks }, (_, index) => index)]) {
      const start = this.powerOn.translation;
      for (const latches of settings(task < 0 ? before : behind, this.powerOn.latches)) {
        if (left-- <= 0) return;
        yield {
          latches,
          ...(start ? { translation: { ...start, on: task >= 0, task: Math.max(0, task) } } : {}),
        };
      }
    }
  }

  /** All 64 KiB in one state, from address 0 up. */
  view(state: MapState): readonly Segment[] {
    const last = this.lastViews.get(state);
    if (last) return last;
    const { translation } = state;
    const key = JSON.stringify([state.latches, translation?.on && translation.maps[translation.task]]);
    let view = this.views.get(key);
    if (!view) {
      view = segmentsOf(this.candidates(state, true), this.candidates(state, false));
      // A rehearsal may pass through very many maps of a translation board.
      this.segmentsHeld += view.length;
      if (this.segmentsHeld > MOST_HELD) {
        this.views.clear();
        this.segmentsHeld = view.length;
      }
      this.views.set(key, view);
    }
    this.lastViews.set(state, view);
    return view;
  }

  /** What answers one address, without a view of all: for those who look at very many states. */
  answering(state: MapState, address: number): Segment {
    const at = address & 0xffff;
    return segmentAt(segmentsOf(this.candidates(state, true, at), this.candidates(state, false, at)), at);
  }

  /** What answers an address: region, bank, chips with their bits, board; reads and writes apart. */
  whoAnswers(state: MapState, address: number): WhoAnswers {
    const segment = segmentAt(this.view(state), address & 0xffff);
    const full = (answer: Answer | undefined): FullAnswer | undefined => {
      if (!answer) return undefined;
      const offset = answer.offset + (address & 0xffff) - segment.from;
      const part = this.part(answer.part);
      return {
        ...answer,
        offset,
        chips: chipsAt(part, offset),
        ...(part.board === undefined ? {} : { board: part.board }),
        ...(part.chips === undefined ? {} : { chipPart: part.chips }),
      };
    };
    const [read, write] = [full(segment.read), full(segment.write)];
    return {
      clash: segment.clash,
      hidden: segment.hidden,
      sets: this.setBy(address & 0xffff),
      ...(read ? { read } : {}),
      ...(write ? { write } : {}),
    };
  }

  /** What a write to an address sets: bank latches, the translation's latch, an entry of a map. */
  setBy(address: number): string[] {
    const { translation, latches } = this;
    const entry = translation?.at === undefined ? -1 : address - translation.at;
    return [
      ...latches
        .filter((each) => each.at === address && !each.port)
        .map(({ name, bits, readable }) => `latch ${name}, ${bits} bits${readable === false ? ", write only" : ""}`),
      ...(translation?.latch?.at === address ? ["the translation's latch"] : []),
      ...(translation && entry >= 0 && entry < translation.logical
        ? [`entry ${entry} of the map that is written`]
        : []),
    ];
  }

  /** The part that a region's bytes are in, and where in it they begin. */
  seatOf(region: string): Seat | undefined {
    return this.seats.get(region);
  }

  part(name: string): Part {
    return this.parts.find((each) => each.name === name)!;
  }

  /** The state after the CPU has written `value` to an address, or to a port. The same state where no latch is there. */
  after(state: MapState, address: number, value: number, port = false): MapState {
    let next = state;
    for (const latch of this.latches)
      if (latch.at === address && latch.port === port)
        next = { ...next, latches: { ...next.latches, [latch.name]: value % 2 ** latch.bits } };
    const { translation } = this;
    const held = next.translation;
    if (!translation || !held || port) return next;
    const { latch, at } = translation;
    if (latch?.at === address) {
      const number = (bit: number | undefined, otherwise: number) =>
        bit === undefined ? otherwise : (value >> bit) % 2 ** Math.max(1, Math.ceil(Math.log2(translation.tasks)));
      const task = number(latch.task, 0) % translation.tasks;
      return {
        ...next,
        translation: {
          ...held,
          on: latch.enable === undefined ? held.on : ((value >> latch.enable) & 1) === 1,
          task,
          writes: number(latch.write, task) % translation.tasks,
        },
      };
    }
    if (at !== undefined && address >= at && address < at + translation.logical) {
      const maps = held.maps.map((map, index) =>
        index === held.writes ? map.map((block, logical) => (logical === address - at ? value : block)) : map,
      );
      return { ...next, translation: { ...held, maps } };
    }
    return next;
  }

  /** Latches that matter without and with translation: a window that is translated shows no bank. */
  private factors(): { before: Latch[]; behind: Latch[] } {
    const before = latchesThatMatter(this.computer, this.latches);
    const fixed = this.translation?.fixed ?? [];
    const behind = before.filter((latch) => {
      const window = this.computer.regions.find((each) => each.kind === "window" && each.name === latch.name);
      return !window || fixed.some((each) => each.from <= window.to && each.to >= window.from);
    });
    return { before, behind };
  }

  /** RAM behind a physical address, and how much goes on from there without a break. */
  private physicalAt(
    address: number,
  ): { region: BenchRegion; bank?: number; offset: number; left: number } | undefined {
    const found = this.physical.find((each) => each.from <= address && address <= each.to);
    if (!found) return undefined;
    const { region, size } = found;
    const offset = (address - found.from) % size;
    return {
      region,
      offset,
      left: size - offset,
      ...(region.kind === "window" ? { bank: Math.floor((address - found.from) / size) } : {}),
    };
  }

  private answer(
    region: BenchRegion,
    offset: number,
    bank: number | undefined,
    mirror: boolean,
    block?: number,
  ): Answer {
    const { part, offset: base } = this.seats.get(region.name)!;
    return {
      region: region.name,
      kind: region.kind,
      part: part.name,
      offset: base + (bank ?? 0) * (region.to - region.from + 1) + offset,
      mirror,
      waits: region.waits ?? 0,
      ...(bank === undefined ? {} : { bank }),
      ...(block === undefined ? {} : { block }),
    };
  }

  /** Stretches at which each region answers in one direction, and translated RAM; those that hold `at`, where it is said. */
  private candidates(state: MapState, read: boolean, at?: number): Selected[] {
    const found: Selected[] = [];
    const translated = state.translation?.on && this.translation ? this.translation : undefined;
    for (const select of this.selects) {
      const { region } = select;
      if ((read && region.only === "write") || (!read && (region.only === "read" || region.kind === "rom"))) continue;
      const isRam = region.kind === "ram" || region.kind === "window";
      const bank = region.kind === "window" ? (state.latches[region.name] ?? 0) : undefined;
      if (bank !== undefined && bank >= (region.banks ?? 1)) continue;
      const add = ({ from, to, offset, mirror }: Stretch) =>
        found.push({
          from,
          to,
          candidate: { region, under: region.under, answer: this.answer(region, offset, bank, mirror) },
        });
      for (const stretch of select.stretches(state, read))
        if (at !== undefined && (at < stretch.from || at > stretch.to)) continue;
        else if (translated && isRam) for (const each of inside(stretch, translated.fixed)) add(each);
        else add(stretch);
    }
    if (translated) this.addTranslated(state, translated, found);
    return found;
  }

  private addTranslated(state: MapState, translated: Translation, found: Selected[]): void {
    const map = state.translation?.maps[state.translation.task] ?? translated.map;
    for (let logical = 0; logical < translated.logical; logical++) {
      const block = map[logical] ?? 0;
      if (block >= translated.blocks) continue;
      const start = logical * translated.block;
      for (let done = 0; done < translated.block; ) {
        const there = this.physicalAt(block * translated.block + done);
        if (!there) break;
        const length = Math.min(there.left, translated.block - done);
        const answer = this.answer(there.region, there.offset, there.bank, false, block);
        const stretch = { from: start + done, to: start + done + length - 1, offset: 0, mirror: false };
        for (const part of without(stretch, translated.fixed))
          found.push({
            from: part.from,
            to: part.to,
            candidate: {
              region: there.region,
              under: true,
              answer: { ...answer, offset: answer.offset + part.from - stretch.from },
            },
          });
        done += length;
      }
    }
  }
}

/** Settings of some latches, those at power-on first; the other latches stay as they are at power-on. */
function* settings(
  latches: readonly Latch[],
  start: Readonly<Record<string, number>>,
): Generator<Record<string, number>> {
  const counts = latches.map((each) => 2 ** each.bits);
  const total = counts.reduce((product, each) => product * each, 1);
  for (let number = 0; number < total; number++) {
    let rest = number;
    const values = { ...start };
    for (const [index, latch] of latches.entries()) {
      const count = counts[index]!;
      // Counting begins at the value of power-on, so that the first setting is that state.
      values[latch.name] = ((start[latch.name] ?? 0) + (rest % count)) % count;
      rest = Math.floor(rest / count);
    }
    yield values;
  }
}

/** RAM in the order of its physical blocks: as the bench says, else main memory first and then every bank of each window. */
function physicalOrder(computer: BenchComputer): Physical[] {
  const ram = computer.regions.filter((each) => each.kind === "ram" || each.kind === "window");
  const order = computer.translation?.order;
  const regions = order
    ? order.flatMap((name) => ram.filter((each) => each.name === name))
    : [...ram.filter((each) => each.kind === "ram"), ...ram.filter((each) => each.kind === "window")];
  const physical: Physical[] = [];
  let next = 0;
  for (const region of regions) {
    const size = region.to - region.from + 1;
    const bytes = size * (region.kind === "window" ? (region.banks ?? 1) : 1);
    physical.push({ from: next, to: next + bytes - 1, size, region });
    next += bytes;
  }
  return physical;
}

/** The memory map of a bench, where its memory is described. */
export function memoryMapOf(bench: Bench): MemoryMap | undefined {
  const { computer } = bench;
  if (!computer || computer.regions.length === 0) return undefined;
  const map = maps.get(computer) ?? new MemoryMap(computer);
  maps.set(computer, map);
  return map;
}

/** Benches do not change once they are read, and several checks ask for the same map. */
const maps = new WeakMap<BenchComputer, MemoryMap>();
