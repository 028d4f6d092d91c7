import { controlOf, escapeOf, Scanner, type ScanSink, type Sequence, sequenceOf } from "@rouse/core/terminal";

/**
 * Where our model and `@xterm/headless` differ on purpose, each with the clause that decides. A stream counts as
 * explained only if the two agree once exactly these functions have been taken out of it.
 */
interface Allowed {
  name: string;
  clause: string;
  /** True for a function that is taken out. */
  is(found: Found): boolean;
}

export interface Found {
  /** Abbreviation or form. */
  name: string;
  kind: string;
  from: number;
  to: number;
  /** Parameters as read, −1 for those left out. */
  values: number[];
  /** All of it, as it came. */
  bytes: Uint8Array;
  /** The stream ended before the function did. */
  unfinished: boolean;
}

/** Every function of a stream with its place, by our scanner. */
export function functionsIn(bytes: Uint8Array): Found[] {
  const found: Found[] = [];
  let end = 0;
  const note = (each: { name: string; kind: string }, at: number, more: Partial<Found> = {}) =>
    found.push({
      name: each.name,
      kind: each.kind,
      from: at,
      to: end,
      values: [],
      bytes: bytes.subarray(at, end),
      unfinished: false,
      ...more,
    });
  const sink: ScanSink = {
    text() {},
    control: (byte, at) => note(controlOf(byte), at),
    escape: (intermediates, final, at) => note(escapeOf(intermediates, final), at),
    sequence: ({ lead, intermediates, final, count, values }: Sequence, at) =>
      note(sequenceOf(lead, intermediates, final), at, { values: [...values.subarray(0, count)] }),
    string: (opener, _data, _length, at) => note(controlOf(opener), at, { kind: "string" }),
    fault: (at) => note({ name: "fault", kind: "fault" }, at),
  };
  const scanner = new Scanner(sink);
  for (end = 1; end <= bytes.length; end++) scanner.write(bytes, end - 1, end);
  end = bytes.length;
  if (scanner.openSince !== undefined)
    note({ name: "unfinished", kind: "unfinished" }, scanner.openSince, { unfinished: true });
  return found;
}

export function without(bytes: Uint8Array, is: (found: Found) => boolean): Uint8Array {
  const gone = new Uint8Array(bytes.length);
  for (const each of functionsIn(bytes)) if (is(each)) gone.fill(1, each.from, each.to);
  return bytes.filter((_, i) => gone[i] === 0);
}

const OBEYED_HERE_ONLY = new Set(["HPB", "VPB", "CTC"]);
/** The C1 byte that began it: a C0 function may stand between ESC and the byte that goes with it. */
const opens = ({ bytes }: Found, ...openers: number[]): boolean =>
  openers.includes(bytes[0] === 0x1b ? (bytes.find((byte) => byte >= 0x40) ?? 0) + 0x40 : bytes[0]!);
const SOS = 0x98;
/** Outside what a command string may hold, its ends aside. */
const outside = ({ bytes }: Found): boolean => bytes.subarray(1, -1).some((byte) => byte >= 0xa0);
/** 5 and an index, or 2 and three parts, follow. */
const isColour = (values: readonly number[], at: number): boolean => {
  const rest = values.slice(at + 2, at + 2 + (values[at + 1] === 5 ? 1 : 3));
  return (values[at + 1] === 5 && rest.length === 1 && rest[0]! >= 0) || (values[at + 1] === 2 && rest.length === 3);
};
const SHIFTS = new Set(["LS1R", "LS2", "LS2R", "LS3", "LS3R", "SO", "SI"]);

export const ALLOWED: readonly Allowed[] = [
  {
    name: "private escape sequences",
    clause: "ECMA-35 13.2.3: Fp, 03/00 to 03/15, has no meaning by the standard",
    is: ({ kind }) => kind === "private escape",
  },
  {
    name: "private control sequences",
    clause: "ECMA-48 5.4: final byte 07/00 to 07/14; 5.4.1: parameters that begin with 03/12 to 03/15",
    is: ({ kind }) => kind === "private sequence",
  },
  {
    name: "HPB, VPB, CTC, which the reference does not obey",
    clause: "ECMA-48 8.3.58, 8.3.159, 8.3.17",
    is: ({ name }) => OBEYED_HERE_ONLY.has(name),
  },
  {
    name: "designations and shifts, by which the reference changes character sets",
    clause: "ECMA-48 has none of its own; ECMA-35 14",
    is: ({ name, kind }) => kind === "code designation" || SHIFTS.has(name),
  },
  {
    name: "RI in its 8-bit form, which the reference knows only as ESC M",
    clause: "ECMA-48 5.3 and table 2b: 08/13",
    is: ({ name, bytes }) => name === "RI" && bytes.length === 1,
  },
  {
    name: "character strings (SOS) that the reference ends at another function",
    clause: "ECMA-48 5.6: any bit combination but SOS and ST",
    is: (found) => opens(found, SOS),
  },
  {
    name: "command strings with bytes that they may not hold, at which the reference ends them",
    clause: "ECMA-48 5.6: 00/08 to 00/13 and 02/00 to 07/14 only, so anything may follow",
    is: (found) => opens(found, 0x90, 0x9d, 0x9e, 0x9f) && outside(found),
  },
  {
    name: "RIS after LNM, which the reference leaves set",
    clause: "ECMA-48 8.3.105: to the initial state",
    is: ({ name, values }) => (name === "SM" || name === "RM") && values.includes(20),
  },
  {
    name: "SGR 6, rapid blinking, which the reference does not show",
    clause: "ECMA-48 8.3.117",
    is: ({ name, values }) => name === "SGR" && values.includes(6),
  },
  {
    name: "SGR 58, and 38 and 48 without a whole ISO 8613-6 colour, of which the reference makes one all the same",
    clause: "ECMA-48 8.3.117: 38 and 48 reserved, 58 not assigned",
    is: ({ name, values }) =>
      name === "SGR" &&
      values.some((value, i) => value === 58 || ((value === 38 || value === 48) && !isColour(values, i))),
  },
  {
    name: "control strings after which the reference's REP still repeats the character before them",
    clause: "ECMA-48 8.3.103: the character that precedes REP in the data stream",
    is: (found) => opens(found, 0x90, 0x9d, 0x9e, 0x9f),
  },
];
