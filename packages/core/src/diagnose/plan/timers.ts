import type { CpuName } from "../../assemble/index.ts";
import type { Bench, BenchTimer } from "../../bench/index.ts";
import type { MemoryMap } from "../../memory/index.ts";
import { counterTests, isCounter, quietCounter } from "./counters.ts";
import { poke } from "./devices.ts";
import { ELEMENTS, responseSteps, type TimerFrame, waitsAt } from "./response.ts";
import type { Poke, Step, TimerStep, Unlettered } from "./types.ts";
import { isPort } from "./voice.ts";

/** Tests of timers: what they count, and their interrupts. */

/** Period that a 6522 is set to, cycles: long against the loop that counts it. */
const PERIOD_6522 = 20_000;
/** Longest period that the counting loops of all CPUs can tell, cycles. */
const LONGEST_PERIOD = 800_000;
/** Longest period whose interrupt they wait for. */
const LONGEST_INTERRUPT = 250_000;

/** One test of all timers with a flag, and on a Z80 one for each channel of a counter-timer. */
export function timerTests(frame: TimerFrame): Unlettered[] {
  const { bench, cpu, map, ground, main, notes } = frame;
  const steps: Step[] = [];
  const stack = main?.stretches.at(-1)?.to;
  let element = 1;
  for (const timer of timersOf(bench, cpu, map, notes)) {
    steps.push({ kind: "period", element: element++, timer });
    if (!timer.interrupt) continue;
    if (cpu !== "Z80" && (ground.vectors === undefined || stack === undefined))
      notes.push(`The interrupt of ${timer.title} is not tested: this program does not have the CPU's vectors.`);
    else if (timer.every > LONGEST_INTERRUPT)
      notes.push(`The interrupt of ${timer.title} is not tested: it comes too seldom for this program.`);
    else if (cpu === "Z80") {
      const found = responseSteps(frame, timer, element);
      steps.push(...quiet(bench, found), ...found);
      element += found.length === 0 ? 0 : ELEMENTS;
    } else steps.push({ kind: "interrupt", element: element++, timer, stack: stack! });
  }
  const counters = cpu === "Z80" ? counterTests(frame) : [];
  return [
    ...(steps.length === 0 ? [] : [{ kind: "timer" as const, title: "Timers", steps }]),
    ...counters.map((each) => ({ ...each, steps: [...quiet(bench, each.steps), ...each.steps] })),
  ];
}

/** Before a Z80 lets interrupts in: that no timer asks for one, which a monitor may have left so. */
function quiet(bench: Bench, before: readonly Step[]): Step[] {
  if (before.length === 0) return [];
  const pokes = bench.computer!.timers.flatMap((timer): Poke[] => {
    if (isCounter(timer)) return quietCounter(bench, timer);
    const port = isPort(bench, timer.at, timer.port);
    if (/65C?22/i.test(timer.part)) return [poke(timer.at + 14, port, 0x7f, `no interrupts from ${timer.name}`)];
    return /6821|6820|6520/.test(timer.part)
      ? [poke(timer.at + 1, port, 0x04, `no interrupts from ${timer.name}`)]
      : [];
  });
  return pokes.length === 0 ? [] : [{ kind: "pokes", pokes }];
}

/** The timers of a bench whose flags a program can watch. What cannot be tested is noted. */
function timersOf(bench: Bench, cpu: CpuName, map: MemoryMap, notes: string[]): TimerStep[] {
  const { tick, timers } = bench.computer!;
  const found: TimerStep[] = [];
  if (tick) {
    const port = isPort(bench, tick.at);
    found.push({
      title: "the tick",
      port,
      flag: { at: tick.at, mask: 1 << (tick.bit ?? 7) },
      waits: waitsAt(map, tick.at, port),
      start: [],
      clear: { pokes: [poke(tick.at, port, 0, "any write clears the tick")] },
      every: tick.every,
      ...(tick.interrupts ? { interrupt: { enable: [], disable: [] } } : {}),
    });
  }
  for (const timer of timers) {
    if (cpu === "Z80" && isCounter(timer)) continue;
    const step = timerStep(bench, cpu, map, timer, notes);
    if (step) found.push(step);
  }
  return found.filter((each) => {
    if (each.every <= LONGEST_PERIOD) return true;
    notes.push(`The period of ${each.title} is not tested: it is longer than this program counts.`);
    return false;
  });
}

/** 6522 and 6821 from memory of their data sheets. */
function timerStep(
  bench: Bench,
  cpu: CpuName,
  map: MemoryMap,
  timer: BenchTimer,
  notes: string[],
): TimerStep | undefined {
  const { name, part, at, every, line } = timer;
  const port = isPort(bench, at, timer.port);
  const interrupts = line === undefined || line === (cpu === "Z80" ? "INT" : "IRQ");
  if (cpu === "Z80" && !interrupts)
    notes.push(`The interrupt of ${name} is not tested: it drives ${line}, and what is tested is INT.`);
  if (/65C?22/i.test(part)) {
    const count = PERIOD_6522 - 2;
    return {
      title: name,
      port,
      flag: { at: at + 13, mask: 0x40 },
      waits: waitsAt(map, at + 13, port),
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
      port,
      flag: { at: at + 1, mask: 0x80 },
      waits: waitsAt(map, at + 1, port),
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
  notes.push(`${name} is not tested: a ${part} has no flag that this program could watch.`);
  return undefined;
}
