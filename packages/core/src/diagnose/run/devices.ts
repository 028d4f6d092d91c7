import type { Bench, BenchTimer } from "../../bench/index.ts";
import { isCounter } from "../plan/counters.ts";
import { isPort } from "../plan/voice.ts";
import type { Voice } from "../types.ts";
import { counterOf } from "./counter.ts";

/** What of a machine's devices a test program looks at: flags of timers, and a port with a loop plug. Whole ones are in `rehearse`. */
export interface Watched {
  /** Its registers: addresses, or where `ports` says so numbers of Z80 ports. */
  readonly at: readonly number[];
  readonly ports: boolean;
  read(address: number, clock: number): number;
  write(address: number, value: number, clock: number): void;
  /** Whether it asks for an interrupt, and when that may change by itself. */
  asks(clock: number): boolean;
  next(clock: number): number;
  /** The vector that it gives when a Z80 takes its interrupt; undefined where it does not ask. */
  acknowledge?(): number | undefined;
  /** Whether it waits for RETI, which it then is told. */
  serving?(): boolean;
  returned?(): void;
}

const NEVER = Number.POSITIVE_INFINITY;

type Tick = NonNullable<NonNullable<Bench["computer"]>["tick"]>;

/** A bit that comes every so many cycles, counted from power-on, and stays until it is cleared. */
class Flag {
  private cleared = 0;
  private readonly every: number;
  constructor(every: number) {
    this.every = every;
  }
  come(clock: number): boolean {
    return Math.floor(clock / this.every) > this.cleared;
  }
  clear(clock: number): void {
    this.cleared = Math.floor(clock / this.every);
  }
  next(clock: number): number {
    return this.come(clock) ? NEVER : (this.cleared + 1) * this.every;
  }
}

function tickOf({ at, bit = 7, every, interrupts = false }: Tick, ports: boolean): Watched {
  const flag = new Flag(every);
  return {
    at: [at],
    ports,
    read: (_, clock) => (flag.come(clock) ? 1 << bit : 0),
    write: (_address, _value, clock) => flag.clear(clock),
    asks: (clock) => interrupts && flag.come(clock),
    next: (clock) => (interrupts ? flag.next(clock) : NEVER),
  };
}

/** Timer 1 of a 6522, running free: a flag each count + 2 cycles. Data sheet, from memory. */
function timer6522({ at }: BenchTimer, ports: boolean): Watched {
  let latch = 0;
  let start = 0;
  let told = 0;
  let enabled = 0;
  const periods = (clock: number) => (latch === 0 ? 0 : Math.floor((clock - start) / (latch + 2)));
  const come = (clock: number) => periods(clock) > told;
  return {
    at: Array.from({ length: 16 }, (_, register) => at + register),
    ports,
    read(address, clock) {
      if (address - at === 13) return come(clock) ? 0x40 | (enabled & 0x40 ? 0x80 : 0) : 0;
      if (address - at === 4) told = periods(clock);
      return 0;
    },
    write(address, value, clock) {
      const register = address - at;
      if (register === 4) latch = (latch & 0xff00) | value;
      else if (register === 5) {
        latch = (latch & 0xff) | (value << 8);
        start = clock;
        told = 0;
      } else if (register === 14) enabled = value & 0x80 ? enabled | (value & 0x7f) : enabled & ~value;
    },
    asks: (clock) => (enabled & 0x40) !== 0 && come(clock),
    next: (clock) => (enabled & 0x40 && !come(clock) && latch > 0 ? start + (told + 1) * (latch + 2) : NEVER),
  };
}

/** A 6821 whose CA1 is pulsed. Data sheet, from memory. */
function port6821({ at, every = NEVER }: BenchTimer, ports: boolean): Watched {
  const flag = new Flag(every);
  let control = 0;
  return {
    at: [at, at + 1],
    ports,
    read(address, clock) {
      if (address !== at) return control | (flag.come(clock) ? 0x80 : 0);
      if (control & 4) flag.clear(clock);
      return 0xff;
    },
    write(address, value) {
      if (address !== at) control = value & 0x3f;
    },
    asks: (clock) => (control & 1) !== 0 && flag.come(clock),
    next: (clock) => (control & 1 ? flag.next(clock) : NEVER),
  };
}

/** A port with a loop plug: what is sent comes back a character later. */
export function looped(voice: Voice, character: number): Watched {
  let free = 0;
  let got = -1;
  return {
    at: [voice.data, voice.status],
    ports: voice.ports,
    read(address, clock) {
      const come = got >= 0 && clock >= free;
      if (address === voice.data) {
        const byte = Math.max(0, got);
        if (come) got = -1;
        return byte;
      }
      return (clock >= free ? voice.ready : 0) | (come ? voice.received : 0);
    },
    write(address, value, clock) {
      if (address !== voice.data) return;
      got = value;
      free = Math.max(free, clock) + character;
    },
    asks: () => false,
    next: () => NEVER,
  };
}

/** The timers of a bench that a program tests, in the order in which a Z80 hears them. */
export function watchedTimers(bench: Bench): Watched[] {
  const { tick, timers } = bench.computer!;
  return [
    ...(tick ? [tickOf(tick, isPort(bench, tick.at))] : []),
    ...timers.flatMap((timer): Watched[] => {
      const ports = isPort(bench, timer.at, timer.port);
      if (/65C?22/i.test(timer.part)) return [timer6522(timer, ports)];
      if (isCounter(timer)) return [counterOf(timer, ports)];
      return /6821|6820|6520/.test(timer.part) && timer.every !== undefined ? [port6821(timer, ports)] : [];
    }),
  ];
}
