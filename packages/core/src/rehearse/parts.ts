import type { BenchComputer, BenchPort, BenchTimer } from "../bench/index.ts";
import { type Bus, type Cpu, Cpu6502, Cpu6809, CpuZ80, type Device } from "../cpu/index.ts";
import { InputError } from "../errors/index.ts";
import { countOf, timerCycles, timerKind } from "../line/index.ts";
import { Port6821 } from "./port-6821.ts";
import type { Pins } from "./serial.ts";
import { Timer6522 } from "./timer-6522.ts";
import { TimerCtc } from "./timer-ctc.ts";
import type { BitOf, Uart } from "./uart.ts";
import { Uart6551 } from "./uart-6551.ts";
import { Uart6850 } from "./uart-6850.ts";
import { Uart8251 } from "./uart-8251.ts";
import { Uart16450 } from "./uart-16450.ts";
import { UartSio } from "./uart-sio.ts";
import type { Host, Unit } from "./unit.ts";

/** Part numbers in the bench, turned into what is simulated. */

const CPUS: readonly (readonly [RegExp, new (bus: Bus) => Cpu])[] = [
  [/6809|6[38][A-C]?09/i, Cpu6809],
  [/6502|65C02|6510/i, Cpu6502],
  [/Z-?80|Z84C00/i, CpuZ80],
];

/** The CPU of a computer on a bus. Throws an `InputError` where the bench names none that can be simulated. */
export function cpuOf({ cpu }: BenchComputer, bus: Bus): Cpu {
  const name = cpu?.chip?.cpu?.instructionSet ?? cpu?.part ?? "";
  const found = CPUS.find(([pattern]) => pattern.test(name));
  if (found) return new found[1](bus);
  throw new InputError(
    "no-cpu",
    cpu?.part === undefined
      ? "A rehearsal needs computer.cpu.part: a 6809, 6502 or Z80."
      : `The CPU ${cpu.part} can't be simulated; a 6809, 6502 or Z80 can.`,
  );
}

const UARTS = { "6850": Uart6850, "6551": Uart6551, "8251": Uart8251, "16450": Uart16450, SIO: UartSio } as const;

/** What a port lacks for a rehearsal, as a sentence; undefined where it lacks nothing. */
export function lackOf(port: BenchPort): string | undefined {
  const lacks = (key: string) => `${port.name} stays silent: ${port.path}.${key} is not given.`;
  if (port.bitCycles !== undefined)
    return `${port.name} stays silent: a program makes its bits, which is not simulated.`;
  if (!port.chip?.uart)
    return port.uart === undefined ? lacks("uart") : `${port.name} stays silent: a ${port.uart} is not simulated.`;
  if (port.at === undefined) return lacks("at");
  if (!port.clock) return lacks("clock");
  if (port.timer && timerKind(port.timer.part) && port.timer.count === undefined) return lacks("timer.count");
  return undefined;
}

/** The serial part of a port. The division comes from what the program writes, the clock before it from the bench. */
export function uartOf(host: Host, port: BenchPort, pins: Pins): Uart {
  const { kind } = port.chip!.uart!;
  const before = port.timer && timerKind(port.timer.part);
  const timed = before
    ? timerCycles(before, { prescale: port.timer!.prescale ?? 1, count: port.timer!.count! }, "clock")
    : 1;
  const input = port.clock!.value / (port.divide ?? 1) / timed;
  const bitOf: BitOf = (division) => (division * host.hertz) / input;
  return new UARTS[kind](host, pins, kind === "6551" ? (code) => bitOf(countOf(port, code) ?? 16) : bitOf);
}

export function timerOf(host: Host, timer: BenchTimer): Unit & Device & { registers: number } {
  if (/65C?22/i.test(timer.part)) return new Timer6522(host);
  if (/6821|6820|6520/.test(timer.part)) return new Port6821(host, timer.every);
  if (/CTC/i.test(timer.part)) return new TimerCtc(host, timer.every);
  throw new InputError("no-timer", `${timer.path}: a ${timer.part} can't be simulated; a 6522, 6821 or Z80-CTC can.`);
}
