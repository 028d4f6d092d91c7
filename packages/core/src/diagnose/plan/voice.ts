import type { Bench, BenchPort } from "../../bench/index.ts";
import { InputError } from "../../errors/index.ts";
import { type Frame, type RegisterWrite, readFrame, registerWrites, settingOf } from "../../line/index.ts";
import type { Voice } from "../types.ts";
import type { Poke } from "./types.ts";

type Kind = NonNullable<NonNullable<BenchPort["chip"]>["uart"]>["kind"];

/**
 * Status register counted from the data register, and the bits for an empty transmit register and a received character. 6850 and 8251
 * from their data sheet and manual, 6551, 16450 and SIO from memory of theirs.
 */
const STATUS: Readonly<Record<Kind, { data: number; status: number; ready: number; received: number }>> = {
  "6850": { data: 1, status: 0, ready: 0x02, received: 0x01 },
  "6551": { data: 0, status: 1, ready: 0x10, received: 0x08 },
  "8251": { data: 0, status: 1, ready: 0x01, received: 0x02 },
  "16450": { data: 0, status: 5, ready: 0x20, received: 0x01 },
  SIO: { data: 0, status: 1, ready: 0x04, received: 0x01 },
};

/** Z80: a port's number is its low byte. */
const PORTS = 0x100;

/** A serial port that a program can use, with what it writes to it first. */
export interface Speaker {
  voice: Voice;
  setup: readonly Poke[];
  port: BenchPort;
  frame: Frame;
}

const DEFAULT_FRAME = "8N1";

/** Whether a register at `at` is reached by the Z80's port instructions. `said`: what the bench says of it. */
export function isPort(bench: Bench, at: number, said?: boolean): boolean {
  const { computer } = bench;
  const isZ80 = /Z-?80|Z84/i.test(computer?.cpu?.chip?.cpu?.instructionSet ?? computer?.cpu?.part ?? "");
  const inMemory =
    at >= PORTS || (computer?.regions ?? []).some(({ kind, from, to }) => kind === "io" && from <= at && at <= to);
  return isZ80 && (said ?? !inMemory);
}

/** What a port lacks to be spoken through, as a sentence; else how it is. */
export function speakerOf(bench: Bench, port: BenchPort): Speaker | string {
  const { at } = port;
  const kind = port.chip?.uart?.kind;
  if (at === undefined) return `${port.name}: its address is not given (${port.path}.at).`;
  if (!kind) return `${port.name}: a program does not know how to use ${port.uart ?? "a port without a part"}.`;
  const setting = settingOf(port);
  if ("missing" in setting) return `${port.name}: ${setting.why} (${setting.missing.join(", ")}).`;
  const frame = readFrame(port.format ?? DEFAULT_FRAME);
  const ports = isPort(bench, at);
  const { data, status, ready, received } = STATUS[kind];
  const control = kind === "SIO" ? (port.control ?? at + 1) : at + status;
  return {
    port,
    frame,
    voice: { port: port.name, data: at + data, status: control, ports, ready, received },
    setup: pokesOf(bench, port, registerWrites(port, setting, frame)),
  };
}

/** Register writes with an address; the control register of an SIO channel is where the wiring has it. */
export function pokesOf(bench: Bench, port: BenchPort, writes: readonly RegisterWrite[]): Poke[] {
  return writes.flatMap(({ address, value, meaning, register }): Poke[] => {
    const at =
      address ??
      (port.chip?.uart?.kind === "SIO" && /^WR\d/.test(register) ? (port.control ?? port.at! + 1) : undefined);
    return at === undefined ? [] : [{ at, port: isPort(bench, at), value, meaning }];
  });
}

/** The port that a program speaks through: the one named, else that of the show, else the first that can be used. */
export function chooseSpeaker(bench: Bench, name?: string): Speaker {
  const named = name === undefined ? undefined : bench.ports.find((each) => each.name === name);
  if (name !== undefined && !named)
    throw new InputError(
      "no-port",
      `There is no port “${name}”; there is ${bench.ports.map((each) => each.name).join(", ") || "none"}.`,
    );
  const tried = named ? [named] : [...(bench.show?.port ? [bench.show.port] : []), ...bench.ports];
  const reasons: string[] = [];
  for (const port of tried) {
    const found = speakerOf(bench, port);
    if (typeof found !== "string") return found;
    reasons.push(found);
  }
  throw new InputError(
    "no-voice",
    reasons[0] === undefined
      ? "A test program needs a serial port to speak through: ports."
      : `A test program needs a serial port to speak through. ${reasons[0]}`,
  );
}
