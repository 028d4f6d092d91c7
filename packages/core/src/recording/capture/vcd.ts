import { FormatError } from "../../errors/index.ts";
import { captureOf } from "./signals.ts";
import { type Capture, type CaptureOptions, Growing, type Signal } from "./types.ts";

/** Signals kept; a dump of a whole design names thousands. */
const MOST_SIGNALS = 256;
/** Longest word that means anything here: identifiers, names and numbers are short. */
const LONGEST_WORD = 256;

const SECONDS: Readonly<Record<string, number>> = { s: 1, ms: 1e-3, us: 1e-6, ns: 1e-9, ps: 1e-12, fs: 1e-15 };

interface Variable {
  name: string;
  level: 0 | 1 | undefined;
  firstLevel: 0 | 1;
  changes: Growing;
}

/** Words of a file, parted by white space. */
class Words {
  readonly #bytes: Uint8Array;
  #at = 0;
  /** Offset of the last word. */
  from = 0;

  constructor(bytes: Uint8Array) {
    this.#bytes = bytes;
  }

  next(): string | undefined {
    const bytes = this.#bytes;
    while (this.#at < bytes.length && bytes[this.#at]! <= 0x20) this.#at++;
    if (this.#at >= bytes.length) return undefined;
    this.from = this.#at;
    while (this.#at < bytes.length && bytes[this.#at]! > 0x20) this.#at++;
    const to = Math.min(this.#at, this.from + LONGEST_WORD);
    let word = "";
    for (let i = this.from; i < to; i++) word += String.fromCharCode(bytes[i]!);
    return word;
  }

  /** Words up to the next `$end`, the first few of them. */
  group(): string[] {
    const group: string[] = [];
    for (let word = this.next(); word !== undefined && word !== "$end"; word = this.next())
      if (group.length < 16) group.push(word);
    return group;
  }
}

/**
 * Reads a value change dump (IEEE 1364, clause 18): one-bit variables, any time scale. Unknown and floating values count
 * as no change. Throws a `FormatError` where the file is no such dump, and an `InputError` where no signal changes.
 */
export function readVcd(bytes: Uint8Array, options: CaptureOptions = {}): Capture {
  const { signals, notes } = vcdSignals(bytes);
  const capture = captureOf(signals, options);
  capture.notes.push(...notes);
  return capture;
}

/** The signals of such a dump as they are. */
export function vcdSignals(bytes: Uint8Array): { signals: Signal[]; notes: string[] } {
  const words = new Words(bytes);
  const variables = new Map<string, Variable>();
  let scale: number | undefined;
  let time = 0;
  let defined = false;
  const change = (id: string, value: string): void => {
    const level = value === "0" ? 0 : value === "1" ? 1 : undefined;
    const variable = variables.get(id);
    if (!variable || level === undefined || level === variable.level) return;
    if (variable.level !== undefined) {
      if (variable.changes.length === 0) variable.firstLevel = level;
      variable.changes.push(time);
    }
    variable.level = level;
  };
  for (let word = words.next(); word !== undefined; word = words.next()) {
    const first = word[0]!;
    if (first === "$") {
      if (word === "$timescale") {
        const match = /^(1|10|100)(s|ms|us|ns|ps|fs)$/.exec(words.group().join(""));
        if (!match)
          throw new FormatError(
            "vcd-timescale",
            "The time scale of this value change dump is no time like “10 ns”",
            words.from,
          );
        scale = Number(match[1]) * SECONDS[match[2]!]!;
      } else if (word === "$var") {
        const [, width, id, name] = words.group();
        if (width === "1" && id !== undefined && variables.size < MOST_SIGNALS && !variables.has(id))
          variables.set(id, { name: name ?? id, level: undefined, firstLevel: 0, changes: new Growing() });
      } else if (word === "$enddefinitions") {
        words.group();
        defined = true;
      } else if (word !== "$end" && !word.startsWith("$dump")) words.group();
    } else if (!defined)
      throw new FormatError(
        "not-vcd",
        "This is no value change dump: it doesn't begin with its definitions",
        words.from,
      );
    else if (first === "#") {
      const ticks = Number(word.slice(1));
      if (!/^#\d+$/.test(word) || !Number.isFinite(ticks))
        throw new FormatError("vcd-time", `“${word.slice(0, 20)}” is no time`, words.from);
      const now = ticks * (scale ?? 1e-9);
      if (now < time) throw new FormatError("vcd-time", "Time runs backwards in this value change dump", words.from);
      time = now;
    } else if (first === "b" || first === "B") change(words.next() ?? "", word.length === 2 ? word[1]! : "");
    else if (first === "r" || first === "R") words.next();
    else change(word.slice(1), first);
  }
  if (!defined) throw new FormatError("not-vcd", "This is no value change dump: it has no definitions", 0);
  const signals = [...variables.values()].map(
    ({ name, changes, firstLevel }): Signal => ({ name, changes: changes.done(), firstLevel }),
  );
  return { signals, notes: scale === undefined ? ["the file gives no time scale; 1 ns was taken"] : [] };
}
