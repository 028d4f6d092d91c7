import { plainText, visible } from "../bytes/index.ts";
import { type Control, eachControl } from "./controls.ts";
import { withoutPassword } from "./startup.ts";
import { eachLine } from "./text.ts";

/** What text and programs' messages ask of a screen, gathered file by file. */

/** A line longer than this is a paragraph without ends or no text at all: it says nothing of a screen. */
const WIDEST = 255;
/** A run of fewer printable bytes in a program is more likely code than a message. */
const SHORTEST_MESSAGE = 16;

interface WideLine {
  file: string;
  offset: number;
  columns: number;
  /** The line, shortened. */
  text: string;
}

const MOST_SHOWN = 72;
const shown = (bytes: Uint8Array, offset: number): string => {
  let end = offset;
  while (end < bytes.length && end - offset <= WIDEST && bytes[end]! >= 0x20 && bytes[end]! <= 0x7e) end++;
  const text = withoutPassword(plainText(bytes.subarray(offset, end)));
  return text.length > MOST_SHOWN ? `${text.slice(0, MOST_SHOWN)}…` : text;
};

export interface ScreenUse {
  /** Lines by their width in columns, 0 to 255. */
  widths: Uint32Array;
  /** The widest line of each file. */
  widest: WideLine[];
  /** First place and number of uses of each control function. */
  controls: Map<string, { file: string; offset: number; text: string; times: number }>;
}

export const newScreenUse = (): ScreenUse => ({
  widths: new Uint32Array(WIDEST + 1),
  widest: [],
  controls: new Map(),
});

/** Columns that a line takes: printable characters; a tab goes on to the next multiple of 8; control sequences none. */
function columnsOf(bytes: Uint8Array, from: number, to: number): number {
  let columns = 0;
  for (let i = from; i < to; i++) {
    const byte = bytes[i]!;
    if (byte >= 0x20 && byte !== 0x7f) columns++;
    else if (byte === 0x09) columns = (columns | 7) + 1;
    else if (byte === 0x08 && columns > 0) columns--;
    else if (byte === 0x1b) {
      i++;
      if (bytes[i] === 0x5b)
        do i++;
        while (i < to && (bytes[i]! < 0x40 || bytes[i]! > 0x7e));
    }
  }
  return columns;
}

function count(use: ScreenUse, widest: WideLine, columns: number, offset: number): void {
  if (columns > WIDEST) return;
  use.widths[columns]!++;
  if (columns > widest.columns) {
    widest.columns = columns;
    widest.offset = offset;
  }
}

function keep(use: ScreenUse, widest: WideLine, bytes: Uint8Array): void {
  if (widest.columns > 0) use.widest.push({ ...widest, text: shown(bytes, widest.offset) });
}

const noteControl =
  (use: ScreenUse, file: string, bytes: Uint8Array) =>
  ({ name, offset, length }: Control): void => {
    const before = use.controls.get(name);
    if (before) before.times++;
    else {
      const sequence = String.fromCharCode(...bytes.subarray(offset, offset + length).map((byte) => byte & 0x7f));
      use.controls.set(name, { file, offset, text: visible(sequence), times: 1 });
    }
  };

/** Adds a text file. */
export function addText(use: ScreenUse, file: string, bytes: Uint8Array): void {
  const widest: WideLine = { file, offset: 0, columns: 0, text: "" };
  eachLine(bytes, (from, to) => count(use, widest, columnsOf(bytes, from, to), from));
  keep(use, widest, bytes);
  eachControl(bytes, "text", noteControl(use, file, bytes));
}

/**
 * Adds the messages in a program: runs of at least 16 printable bytes that end with CR, LF, NUL, `$` or a character
 * with bit 7 set.
 */
export function addProgram(use: ScreenUse, file: string, bytes: Uint8Array, from = 0, to = bytes.length): void {
  const widest: WideLine = { file, offset: 0, columns: 0, text: "" };
  let start = from;
  for (let i = from; i < to; i++) {
    const byte = bytes[i]!;
    if (byte >= 0x20 && byte <= 0x7e && byte !== 0x24) continue;
    const last = byte & 0x7f;
    const highEnd = byte > 0x7f && last >= 0x20 && last <= 0x7e;
    const length = i - start + (highEnd ? 1 : 0);
    if (length >= SHORTEST_MESSAGE && (highEnd || byte === 0x0d || byte === 0x0a || byte === 0 || byte === 0x24))
      count(use, widest, length, start);
    start = i + 1;
  }
  keep(use, widest, bytes);
  eachControl(bytes, "program", noteControl(use, file, bytes), from, to);
}
