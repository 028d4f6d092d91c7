import type { Bench, BenchPort, BenchTimer } from "../../bench/index.ts";
import { timerKind } from "../../line/index.ts";
import { poke } from "./devices.ts";
import { responseSteps, type TimerFrame, waitsAt } from "./response.ts";
import type { Interrupting, Poke, Step, Unlettered } from "./types.ts";
import { isPort } from "./voice.ts";

/**
 * The Z80-CTC: four channels that count the CPU's clock ÷ 16 or 256 down from a time constant, and can be read meanwhile. Control
 * words, vector and time constant: UM0081, “CTC Programming”; what a control word stops: from memory.
 */

const CHANNELS = [0, 1, 2, 3] as const;
const RESET = 0x03;
/** Timer mode, a time constant follows and starts it. */
const BY_16 = 0x07;
const BY_256 = 0x27;
const INTERRUPTS = 0x80;

/** Time constants: written as 0, so that every bit of the counter changes; and one that is loaded with bits of both kinds. */
const WHOLE = 256;
const MIXED = 0xd5;
/** Reloads over which the faster one is timed, about as long as one of the slower. */
const MANY = 16;
const UNTIL_INTERRUPT = 100;

/** What each channel's vector is to be: over all, each of its bits is 0 and 1. The channel's number is in bits 2 and 1. */
export const VECTORS: readonly number[] = [0xa8, 0x52, 0xac, 0x56];

export const isCounter = ({ part }: BenchTimer): boolean => timerKind(part) === "CTC";

/** The port whose rate a channel makes: what is written to that would silence the port. Undefined where there is none. */
function paces(bench: Bench, timer: BenchTimer, channel: number): BenchPort | undefined {
  return bench.ports.find(({ timer: own }) => {
    if (!own || timerKind(own.part) !== "CTC") return false;
    // Where its address is not given, it may be any of them.
    if (own.at === undefined) return true;
    return [own.at, own.at + (own.channel ?? 0)].includes(timer.at + channel);
  });
}

const freeOf = (bench: Bench, timer: BenchTimer) => CHANNELS.filter((channel) => !paces(bench, timer, channel));

/** Stops its channels; twice, for the first byte may be taken as the time constant that a program was to write. */
export function quietCounter(bench: Bench, timer: BenchTimer): Poke[] {
  const port = isPort(bench, timer.at, timer.port);
  return freeOf(bench, timer).flatMap((channel) => [
    poke(timer.at + channel, port, RESET, `${timer.name}: channel ${channel} stops`),
    poke(timer.at + channel, port, RESET, "and takes no byte for a time constant"),
  ]);
}

/** One test for each channel that makes no port's rate. */
export function counterTests(frame: TimerFrame): Unlettered[] {
  const { bench, notes } = frame;
  return bench.computer!.timers.filter(isCounter).flatMap((timer) => {
    const free = freeOf(bench, timer);
    for (const channel of CHANNELS)
      if (!free.includes(channel))
        notes.push(
          `Channel ${channel} of ${timer.name} is not tested: it makes the rate of ${paces(bench, timer, channel)!.name}, or may.`,
        );
    if (timer.line !== undefined && timer.line !== "INT")
      notes.push(`The interrupts of ${timer.name} are not tested: it drives ${timer.line}, and what is tested is INT.`);
    return free.map((channel): Unlettered => {
      const title = `${timer.name}, channel ${channel}`;
      return { kind: "timer", title: `Counter-timer ${title}`, steps: channelSteps(frame, timer, channel, title) };
    });
  });
}

function channelSteps(frame: TimerFrame, timer: BenchTimer, channel: number, title: string): Step[] {
  const port = isPort(frame.bench, timer.at, timer.port);
  const at = timer.at + channel;
  const started = (control: number, constant: number, meaning: string): Poke[] => [
    poke(at, port, control, meaning),
    poke(at, port, constant & 0xff, `time constant ${constant}, which starts it`),
  ];
  const vector = VECTORS[channel]!;
  const interrupting: Interrupting = {
    title,
    port,
    start: [poke(timer.at, port, vector & 0xf8, "vector of channel 0; the others add their number")],
    clear: { pokes: [] },
    every: 256 * UNTIL_INTERRUPT,
    interrupt: {
      enable: started(BY_256 | INTERRUPTS, UNTIL_INTERRUPT, "clock ÷ 256, interrupts"),
      disable: [poke(at, port, RESET, "stops it")],
    },
  };
  const slow = { title: `${title}, clock ÷ 256`, start: started(BY_256, WHOLE, "clock ÷ 256"), every: 256 * WHOLE };
  const fast = { title: `${title}, clock ÷ 16`, start: started(BY_16, MIXED, "clock ÷ 16"), every: 16 * MIXED };
  const own = { at, port, waits: waitsAt(frame.map, at, port) };
  const stop: Step = { kind: "pokes", pokes: [poke(at, port, RESET, "stops it")] };
  return [
    { kind: "counter", element: 1, counter: { ...slow, ...own, periods: 1, bits: 2 } },
    stop,
    { kind: "counter", element: 3, counter: { ...fast, ...own, periods: MANY } },
    stop,
    ...(timer.line === undefined || timer.line === "INT" ? responseSteps(frame, interrupting, 4, vector) : []),
  ];
}
