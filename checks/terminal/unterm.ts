import { spawnSync } from "node:child_process";
import { idealAbility, Screen } from "@rouse/core/terminal";
import { type Found, functionsIn } from "./allowed.ts";
import { randomPieces, sizeOf } from "./streams.ts";

/** Our screen model beside that of libvterm 0.1.4, as Debian's `unterm` (package libvterm-bin) prints its screens. */

const TOOL = "unterm";

/**
 * What the reference does otherwise on purpose or does not know, with the clause that decides. Streams are made without
 * these.
 */
const APART: readonly { name: string; clause: string; is(found: Found): boolean }[] = [
  {
    name: "private functions and designations",
    clause: "ECMA-35 13.2.3, 14; ECMA-48 5.4",
    is: ({ kind }) => kind === "private escape" || kind === "private sequence" || kind === "code designation",
  },
  { name: "REP is not known to the reference", clause: "ECMA-48 8.3.103", is: ({ name }) => name === "REP" },
  { name: "CTC is not known to the reference", clause: "ECMA-48 8.3.17", is: ({ name }) => name === "CTC" },
  {
    name: "SL and SR do nothing in the reference",
    clause: "ECMA-48 8.3.121, 8.3.135",
    is: ({ name }) => name === "SL" || name === "SR",
  },
  {
    name: "IL and DL leave the reference's active position where it was, not at the line home position",
    clause: "ECMA-48 8.3.67, 8.3.32",
    is: ({ name }) => name === "IL" || name === "DL",
  },
  {
    name: "SOS, PM and APC strings are shown as text by the reference",
    clause: "ECMA-48 5.6",
    is: ({ name }) => name === "SOS" || name === "PM" || name === "APC",
  },
  {
    name: "TBC knows the values 0 and 3 only in the reference",
    clause: "ECMA-48 8.3.154",
    is: ({ name, values }) => name === "TBC" && !(values.length === 1 && [-1, 0, 3].includes(values[0]!)),
  },
  {
    name: "SM and RM obey one parameter in the reference",
    clause: "ECMA-48 8.3.125, 8.3.106",
    is: ({ name, values }) => (name === "SM" || name === "RM") && values.length > 1,
  },
  {
    name: "functions cut off by another",
    clause: "ECMA-48 5.4: what is to be done with them is not said",
    is: ({ kind }) => kind === "fault" || kind === "unfinished",
  },
];

const codes = (text: string): number[] => [...text].map((each) => each.charCodeAt(0));

/** Seven-bit pieces of a random stream without what is apart. The reference reads bytes from 80 up as UTF-8. */
const piecesOf = (seed: number): number[][] =>
  randomPieces(seed).filter(
    (piece) =>
      piece.every((byte) => byte > 0 && byte < 0x7f) &&
      !functionsIn(Uint8Array.from(piece)).some((found) => APART.some((each) => each.is(found))),
  );

/**
 * A stream for `unterm`. It prints no position that was never written or is erased, so the screen is filled first: then
 * places show, too. Functions that come at a full line are left out, since the standard does not say where the active
 * position is then (ECMA-48 7.1): the reference has it in the last column, the other one and we behind it.
 */
function streamOf(seed: number): Uint8Array {
  const { columns, rows } = sizeOf(seed);
  const fill = Array.from({ length: rows }, (_, row) => codes(`\u001b[${row + 1};1H${".".repeat(columns)}`)).flat();
  const bytes = [...fill, ...codes("\u001b[1;1H")];
  const screen = new Screen(idealAbility(columns, rows));
  screen.write(Uint8Array.from(bytes));
  for (const piece of piecesOf(seed)) {
    if (screen.cursor.waits && functionsIn(Uint8Array.from(piece)).length > 0) continue;
    screen.write(Uint8Array.from(piece));
    bytes.push(...piece);
  }
  return Uint8Array.from(bytes);
}

const dense = (lines: readonly string[]): string[] => lines.map((line) => line.replaceAll(" ", ""));

/** Lines of the screen at the end of a stream, by both; blanks left out, since erased positions are not printed. */
export function screensOf(seed: number, file: (bytes: Uint8Array) => string): { ours: string[]; theirs: string[] } {
  const { columns, rows } = sizeOf(seed);
  const bytes = streamOf(seed);
  const screen = new Screen(idealAbility(columns, rows));
  screen.write(bytes);
  const { stdout, error } = spawnSync(TOOL, ["-l", String(rows), "-c", String(columns), file(bytes)]);
  if (error) throw new Error("This check needs `unterm`: install the Debian package libvterm-bin.");
  // Before the screen come the lines that were scrolled off.
  const theirs = stdout.toString("latin1").split("\n").slice(0, -1).slice(-rows);
  return { ours: dense(screen.lines()), theirs: dense(theirs) };
}
