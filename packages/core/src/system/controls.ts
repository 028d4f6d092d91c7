/**
 * Control functions in text and programs, named as ECMA-48 (5th edition, June 1991) abbreviates them. Finds the 7-bit
 * forms: ESC [ parameters intermediates final, and ESC with one final.
 */

const ESC = 0x1b;

/** ECMA-48 table 3: final bytes of control sequences without intermediate bytes. */
const SEQUENCES: Readonly<Record<string, string>> = {
  "@": "ICH",
  A: "CUU",
  B: "CUD",
  C: "CUF",
  D: "CUB",
  E: "CNL",
  F: "CPL",
  G: "CHA",
  H: "CUP",
  I: "CHT",
  J: "ED",
  K: "EL",
  L: "IL",
  M: "DL",
  N: "EF",
  O: "EA",
  P: "DCH",
  Q: "SEE",
  R: "CPR",
  S: "SU",
  T: "SD",
  U: "NP",
  V: "PP",
  W: "CTC",
  X: "ECH",
  Y: "CVT",
  Z: "CBT",
  "`": "HPA",
  a: "HPR",
  b: "REP",
  c: "DA",
  d: "VPA",
  e: "VPR",
  f: "HVP",
  g: "TBC",
  h: "SM",
  i: "MC",
  j: "HPB",
  k: "VPB",
  l: "RM",
  m: "SGR",
  n: "DSR",
  o: "DAQ",
};

/** ECMA-48 tables 2 and 5: ESC with one final byte. */
const SHORT: Readonly<Record<string, string>> = { E: "NEL", H: "HTS", M: "RI", c: "RIS" };

/** Functions that programs send without parameters so often that they are believed in a program without any. */
const COMMON_BARE = new Set(["CUU", "CUD", "CUF", "CUB", "CUP", "ED", "EL", "SGR"]);

const LONGEST_PARAMETERS = 24;

export interface Control {
  /** ECMA-48 abbreviation. */
  name: string;
  offset: number;
  length: number;
}

/**
 * Calls `each` with every control function from `from` to `to`. In a `program` two bytes can look like an opening by
 * chance, so there a sequence needs a parameter or must be one of the commonest, and ESC with one final is passed over.
 */
export function eachControl(
  bytes: Uint8Array,
  within: "text" | "program",
  each: (control: Control) => void,
  from = 0,
  to = bytes.length,
): void {
  for (let at = bytes.indexOf(ESC, from); at >= 0 && at + 1 < to; at = bytes.indexOf(ESC, at + 1)) {
    const second = bytes[at + 1]!;
    if (second !== 0x5b) {
      const name = within === "text" ? SHORT[String.fromCharCode(second)] : undefined;
      if (name) each({ name, offset: at, length: 2 });
      continue;
    }
    let end = at + 2;
    // Parameter bytes 30 to 3F; then, in this scan, no intermediate bytes.
    while (end < to && end - at < LONGEST_PARAMETERS && bytes[end]! >= 0x30 && bytes[end]! <= 0x3f) end++;
    if (end >= to) continue;
    const name = SEQUENCES[String.fromCharCode(bytes[end]! & 0x7f)];
    // Only a program's text may end with bit 7 on its last character.
    if (name === undefined || (bytes[end]! > 0x7f && within === "text")) continue;
    // Parameters that begin with 3C to 3F are for private use (ECMA-48 5.4.1): no standard function.
    if (end > at + 2 && bytes[at + 2]! >= 0x3c) continue;
    if (within === "program" && end === at + 2 && !COMMON_BARE.has(name)) continue;
    each({ name, offset: at, length: end - at + 1 });
  }
}
