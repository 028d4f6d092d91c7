import type { Bench, BenchPort, BenchTimer } from "../../bench/index.ts";
import { bitCycles, type Frame, rateTable, registerWrites, settingOf } from "../../line/index.ts";
import type { EchoRate, Mark, Poke, Signs, Step, TimerStep } from "./types.ts";
import { isPort, pokesOf, type Speaker } from "./voice.ts";

/** Tests of what is no memory: timers, interrupts, the port. */

const poke = (at: number, port: boolean, value: number, meaning: string): Poke => ({ at, port, value, meaning });

/** A lamp is lit when all is good and flashes when not; a bell rings when not; a screen shows the word. */
export function signsOf(bench: Bench): Signs {
  const { lamp, bell, screen } = bench.computer?.signals ?? {};
  const light = (lit: boolean): Poke[] =>
    lamp
      ? [
          poke(
            lamp.at,
            lamp.port ?? false,
            lit === ((lamp.lit ?? 1) === 1) ? 1 << lamp.bit : 0,
            lit ? "the lamp is lit" : "the lamp is dark",
          ),
        ]
      : [];
  const word = (text: string): Poke[] =>
    screen
      ? [...text].map((sign, index) =>
          poke(screen.at + index, false, sign.charCodeAt(0), index === 0 ? "on the screen" : ""),
        )
      : [];
  return {
    good: [...light(true), ...word("GOOD")],
    bad: [...word("BAD "), ...(bell ? [poke(bell.at, bell.port ?? false, bell.value ?? 0, "the bell")] : [])],
    on: light(true),
    off: light(false),
    ...(screen ? { screen: screen.at } : {}),
  };
}

/** Period that a 6522 is set to, cycles: long against the loop that counts it. */
const PERIOD_6522 = 20_000;
/** Longest period that the counting loops of all CPUs can tell, cycles. */
const LONGEST_PERIOD = 800_000;
/** Longest period whose interrupt they wait for. */
export const LONGEST_INTERRUPT = 250_000;

/** The timers of a bench whose flags a program can watch. What cannot be tested is noted. */
export function timersOf(bench: Bench, notes: string[]): TimerStep[] {
  const { tick, timers } = bench.computer!;
  const found: TimerStep[] = [];
  if (tick) {
    const port = isPort(bench, tick.at);
    found.push({
      title: "the tick",
      flag: { at: tick.at, port, mask: 1 << (tick.bit ?? 7) },
      start: [],
      clear: { pokes: [poke(tick.at, port, 0, "any write clears the tick")] },
      every: tick.every,
      ...(tick.interrupts ? { interrupt: { enable: [], disable: [] } } : {}),
    });
  }
  for (const timer of timers) {
    const step = timerStep(bench, timer);
    if (typeof step === "string") notes.push(step);
    else found.push(step);
  }
  return found.filter((each) => {
    if (each.every <= LONGEST_PERIOD) return true;
    notes.push(`The period of ${each.title} is not tested: it is longer than this program counts.`);
    return false;
  });
}

/** 6522 and 6821 from memory of their data sheets. */
function timerStep(bench: Bench, { name, part, at, every, line }: BenchTimer): TimerStep | string {
  const port = isPort(bench, at);
  const interrupts = line === undefined || line === "IRQ";
  if (/65C?22/i.test(part)) {
    const count = PERIOD_6522 - 2;
    return {
      title: name,
      flag: { at: at + 13, port, mask: 0x40 },
      start: [
        poke(at + 14, port, 0x7f, "no interrupts from it"),
        poke(at + 11, port, 0x40, "timer 1 runs free"),
        poke(at + 4, port, count & 0xff, `count ${count}`),
        poke(at + 5, port, count >> 8, "starts it"),
      ],
      clear: { pokes: [], read: at + 4 },
      every: PERIOD_6522,
      ...(interrupts
        ? {
            interrupt: {
              enable: [poke(at + 14, port, 0xc0, "timer 1 may interrupt")],
              disable: [poke(at + 14, port, 0x40, "and no more")],
            },
          }
        : {}),
    };
  }
  if (/6821|6820|6520/.test(part) && every !== undefined)
    return {
      title: name,
      flag: { at: at + 1, port, mask: 0x80 },
      start: [poke(at + 1, port, 0x04, "port A, no interrupts")],
      clear: { pokes: [], read: at },
      every,
      ...(interrupts
        ? {
            interrupt: {
              enable: [poke(at + 1, port, 0x05, "its pulses may interrupt")],
              disable: [poke(at + 1, port, 0x04, "and no more")],
            },
          }
        : {}),
    };
  return `${name} is not tested: a ${part} has no flag that this program could watch.`;
}

/** Every character that can be printed, in two lines, and a line of changing bits: what is missing or wrong shows at once. */
export const PATTERN: readonly string[] = [
  String.fromCharCode(...Array.from({ length: 48 }, (_, index) => 0x20 + index)),
  String.fromCharCode(...Array.from({ length: 47 }, (_, index) => 0x50 + index)),
  "U*".repeat(20),
];

/** Rates that a program can set by itself, with what it writes for each. */
function ratesOf(bench: Bench, port: BenchPort, frame: Frame): EchoRate[] {
  const now = settingOf(port);
  if ("missing" in now || !port.clock) return [];
  const clock = port.clock.value;
  const ratios = port.chip?.uart?.ratios;
  if (port.chip?.uart?.generator === "divided" && ratios)
    return ratios
      .filter((ratio) => ratio > 1)
      .map((ratio) => {
        const setting = { ...now, ratio };
        return {
          rate: Math.round(clock / bitCycles(port, setting)),
          pokes: pokesOf(bench, port, registerWrites(port, setting, frame)),
        };
      });
  return rateTable(port, frame)
    .filter(({ verdict, setting }) => verdict !== "no" && setting.divide === now.divide)
    .map(({ rate, writes }) => ({ rate, pokes: pokesOf(bench, port, writes) }));
}

/** Bytes that go round a loop plug: all changes of neighbouring bits, and each bit alone. */
const ECHOED = [0x55, 0x2a, 0x00, 0x7f, 0x01, 0x02, 0x04, 0x08, 0x10, 0x20, 0x40];

/** A loop plug on a port, at all rates that can be set without a screwdriver; afterwards the port is as it was. */
export function echoSteps(bench: Bench, { port, voice, frame, setup }: Speaker, own: boolean): Step[] {
  const rates = ratesOf(bench, port, frame);
  if (rates.length === 0) return [];
  const bytes = frame.data === 8 ? [...ECHOED, 0x80, 0xaa, 0xff] : ECHOED;
  const marks = bytes.map((byte): Mark => ({ address: voice.data, byte: byte & (2 ** frame.data - 1) }));
  return [
    ...(own ? [{ kind: "wait", seconds: PLUG_SECONDS } as const] : []),
    { kind: "echo", element: 1, voice, mask: 2 ** frame.data - 1, marks, rates },
    { kind: "pokes", pokes: setup },
    // A line of its own, for what was sent and came back went to the terminal too.
    ...(own ? [{ kind: "wait", seconds: PLUG_SECONDS } as const, { kind: "pattern", lines: [""] } as const] : []),
  ];
}

/** Time to put a loop plug in the terminal's place, and to put the terminal back. */
export const PLUG_SECONDS = 20;
