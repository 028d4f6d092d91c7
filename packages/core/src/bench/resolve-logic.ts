import { type Chip, GATE_PARTS, gatesOf, type Logic, namesIn, parseLogic } from "../catalogue/index.ts";
import { InputError } from "../errors/index.ts";
import { nearest } from "../errors/nearest.ts";
import type { Path } from "./resolve-kit.ts";
import type { BenchFile } from "./schema.ts";
import type { BenchLogic } from "./types.ts";

type Computer = NonNullable<BenchFile["computer"]>;

/** Names that an equation may use without anybody defining them. */
const ADDRESS_LINES: readonly string[] = Array.from({ length: 16 }, (_, bit) => `A${bit}`);

export interface LogicReader {
  logic: BenchLogic;
  /** Reads an equation of the bench; what is wrong with it becomes an issue. */
  read(text: string, path: Path): Logic | undefined;
}

/** Bits that a latch in front of `banks` banks has, where the bench does not say. */
const bitsFor = (banks: number): number => Math.max(1, Math.ceil(Math.log2(Math.max(1, banks))));

/** Bits of every latch that an equation may name: those of windows and those under `latches`. */
function latchWidths(written: Computer): Map<string, number> {
  const widths = new Map<string, number>();
  for (const [name, region] of Object.entries(written.memory ?? {}))
    if (region.kind === "window") widths.set(name, region.latch?.bits ?? bitsFor(region.banks ?? 1));
  for (const [name, latch] of Object.entries(written.latches ?? {})) widths.set(name, latch.bits ?? 1);
  return widths;
}

/** Reads the decoder's logic: equations and wired parts become one set of signals. */
export function logicOf(
  written: Computer,
  chipOf: (part: string | undefined) => Chip | undefined,
  wrong: (path: Path, sentence: string) => void,
): LogicReader {
  const widths = latchWidths(written);
  const bits = (name: string): string[] | undefined => {
    const width = widths.get(name);
    return width === undefined
      ? undefined
      : Array.from({ length: width }, (_, index) => `${name}.${width - 1 - index}`);
  };
  const inputs = new Set([...ADDRESS_LINES, "read", ...[...widths.keys()].flatMap((name) => bits(name) ?? [])]);
  const signals = new Map<string, Logic>();
  const madeBy = new Map<string, BenchLogic["madeBy"] extends ReadonlyMap<string, infer V> ? V : never>();
  const places = new Map<string, Path>();

  const parsed = (text: string, path: Path): Logic | undefined => {
    try {
      return parseLogic(text, bits);
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      wrong(path, error.message);
      return undefined;
    }
  };
  const define = (name: string, logic: Logic, path: Path): boolean => {
    if (inputs.has(name) || signals.has(name)) {
      wrong(path, `The signal “${name}” has a source already; two outputs would drive one wire`);
      return false;
    }
    signals.set(name, logic);
    places.set(name, path);
    return true;
  };

  for (const [name, text] of Object.entries(written.logic?.equations ?? {})) {
    const path = ["computer", "logic", "equations", name];
    const logic = parsed(text, path);
    if (logic) define(name, logic, path);
  }
  for (const [place, { part, pins }] of Object.entries(written.logic?.parts ?? {})) {
    const path = ["computer", "logic", "parts", place];
    const chip = chipOf(part);
    const gates = chip && gatesOf(chip.part);
    if (!gates) {
      wrong([...path, "part"], `The logic of “${part}” is not known here; known are ${GATE_PARTS.join(", ")}`);
      continue;
    }
    const wired = new Map<string, string>();
    for (const [key, signal] of Object.entries(pins)) {
      const pin = /^\d+$/.test(key) ? gates.pins.get(Number(key)) : key.toUpperCase();
      if (pin === undefined || !(gates.inputs.has(pin) || gates.outputs.has(pin)))
        wrong(
          [...path, "pins", key],
          `${part} has no signal pin “${key}”; it has ${[...gates.pins.values()].join(", ")}`,
        );
      else wired.set(pin, signal);
    }
    for (const [output, function_] of gates.outputs) {
      const signal = wired.get(output);
      if (signal === undefined) continue;
      const open = [...namesIn(function_)].filter((pin) => !wired.has(pin));
      if (open.length > 0) {
        wrong([...path, "pins"], `The output ${output} of ${place} depends on ${open.join(", ")}, which is not wired`);
        continue;
      }
      if (define(signal, throughPins(function_, wired), [...path, "pins", output]))
        madeBy.set(signal, { place, part, ...(chip ? { chip } : {}) });
    }
  }

  const known = (logic: Logic, path: Path): boolean => {
    for (const name of namesIn(logic))
      if (!inputs.has(name) && !signals.has(name)) {
        const close = nearest(name, [...signals.keys(), ...inputs]);
        wrong(path, `Nothing gives the signal “${name}”${close ? `; did you mean “${close}”?` : ""}`);
        return false;
      }
    return true;
  };
  let sound = true;
  for (const [name, logic] of signals) sound = known(logic, places.get(name)!) && sound;
  if (sound) {
    const loop = loopIn(signals);
    if (loop) wrong(places.get(loop)!, `The signal “${loop}” depends on itself; a decoder has no loops`);
  }
  return {
    logic: { signals, madeBy },
    read(text, path) {
      const logic = parsed(text, path);
      return logic && known(logic, path) ? logic : undefined;
    },
  };
}

/** An output's function with the signals on the pins in the place of the pins' names. */
function throughPins(logic: Logic, wired: ReadonlyMap<string, string>): Logic {
  switch (logic.op) {
    case "is": {
      const name = wired.get(logic.name)!;
      return name === "0" || name === "1" ? { op: "const", value: name === "1" } : { op: "is", name };
    }
    case "not":
      return { op: "not", of: throughPins(logic.of, wired) };
    case "const":
      return logic;
    default:
      return { op: logic.op, of: logic.of.map((each) => throughPins(each, wired)) };
  }
}

/** A signal that depends on itself, if there is one. */
function loopIn(signals: ReadonlyMap<string, Logic>): string | undefined {
  const done = new Set<string>();
  for (const start of signals.keys()) {
    // A walk with its own stack: a long chain of signals must not overflow the machine's.
    const trail: { name: string; rest: string[] }[] = [];
    const open = new Set<string>();
    const enter = (name: string) => {
      open.add(name);
      trail.push({ name, rest: [...namesIn(signals.get(name)!)].filter((each) => signals.has(each)) });
    };
    if (!done.has(start)) enter(start);
    while (trail.length > 0) {
      const here = trail.at(-1)!;
      const next = here.rest.pop();
      if (next === undefined) {
        trail.pop();
        open.delete(here.name);
        done.add(here.name);
      } else if (open.has(next)) return next;
      else if (!done.has(next)) enter(next);
    }
  }
  return undefined;
}

/** Address lines of a `decode` key, as a mask over A15 to A0, or a sentence on what is wrong. */
export function maskOf(lines: readonly string[]): number | string {
  let mask = 0;
  for (const line of lines) {
    const [, bit] = /^A(\d{1,2})$/.exec(line) ?? [];
    if (bit === undefined || Number(bit) > 15) return `“${line}” is no address line; expected A15 to A0`;
    mask |= 1 << Number(bit);
  }
  return mask;
}
