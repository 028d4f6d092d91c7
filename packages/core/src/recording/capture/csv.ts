import { InputError } from "../../errors/index.ts";
import { captureOf } from "./signals.ts";
import { type Capture, type CaptureOptions, Growing, type Signal } from "./types.ts";

/** Columns read: the time and up to this many levels. */
const MOST_LEVELS = 16;
const LONGEST_LINE = 4096;

/** Lines of a file without their ends, each with its number. */
function* linesOf(bytes: Uint8Array): Generator<[string, number]> {
  let number = 0;
  let text = "";
  for (let i = 0; i <= bytes.length; i++) {
    const byte = bytes[i];
    if (byte === 0x0a || byte === undefined) {
      number++;
      const line = text.replace(/^\xef\xbb\xbf/, "").trim();
      if (line !== "" && !line.startsWith("#")) yield [line, number];
      text = "";
    } else if (text.length < LONGEST_LINE) text += String.fromCharCode(byte);
  }
}

const numberOf = (cell: string, decimalComma: boolean): number => {
  const text = (decimalComma ? cell.replace(",", ".") : cell).trim().replace(/^"(.*)"$/, "$1");
  return /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?$/.test(text) ? Number(text) : Number.NaN;
};

/** Changes of a column of levels. Levels may be volts: half-way between lowest and highest parts 0 from 1, with some hold. */
function signalOf(name: string, times: Float64Array, levels: Float64Array): Signal {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const level of levels) {
    if (level < low) low = level;
    if (level > high) high = level;
  }
  const middle = low + (high - low) / 2;
  const hold = (high - low) / 10;
  const changes = new Growing();
  let now: 0 | 1 = levels[0]! > middle ? 1 : 0;
  let firstLevel: 0 | 1 = 1;
  for (let i = 1; i < levels.length; i++) {
    const next = now ? (levels[i]! < middle - hold ? 0 : 1) : levels[i]! > middle + hold ? 1 : 0;
    if (next === now) continue;
    if (changes.length === 0) firstLevel = next;
    changes.push(times[i]!);
    now = next;
  }
  return { name, changes: changes.done(), firstLevel };
}

/**
 * Reads lines of seconds and level (0 and 1, or volts), parted by commas, semicolons or tabs; a second level is the index.
 * One line of headings may come first; lines that begin with # are passed over. A decimal comma is understood where
 * semicolons part the columns. Throws an `InputError` naming the line.
 */
export function readCsv(bytes: Uint8Array, options: CaptureOptions = {}): Capture {
  return captureOf(csvSignals(bytes), options);
}

/** The signals of such a file as they are. */
export function csvSignals(bytes: Uint8Array): Signal[] {
  let separator: string | undefined;
  let headings: string[] = [];
  const times = new Growing();
  let levels: Growing[] = [];
  for (const [line, number] of linesOf(bytes)) {
    separator ??= line.includes("\t") ? "\t" : line.includes(";") ? ";" : ",";
    const cells = line.split(separator, MOST_LEVELS + 1);
    const values = cells.map((cell) => numberOf(cell, separator === ";"));
    if (times.length === 0 && headings.length === 0 && Number.isNaN(values[0])) {
      headings = cells.map((cell) => cell.trim().replace(/^"(.*)"$/, "$1"));
      continue;
    }
    if (times.length === 0) levels = values.slice(1).map(() => new Growing());
    const wrong = values.findIndex((value) => !Number.isFinite(value));
    if (levels.length === 0 || values.length < levels.length + 1 || (wrong >= 0 && wrong <= levels.length))
      throw new InputError(
        "csv-line",
        `Line ${number} is “${line.slice(0, 40)}”; expected seconds and a level, as in “0.0000125,1”.`,
      );
    if (values[0]! < (times.last() ?? Number.NEGATIVE_INFINITY))
      throw new InputError("csv-time", `Time runs backwards on line ${number}.`);
    times.push(values[0]!);
    for (const [i, column] of levels.entries()) column.push(values[i + 1]!);
  }
  if (times.length < 2) throw new InputError("csv-empty", "This file has fewer than two lines of seconds and level.");
  const at = times.done();
  return levels.map((column, i) =>
    signalOf(headings[i + 1] || (i === 0 ? "level" : `level ${i + 1}`), at, column.done()),
  );
}
