/** How likely each code is in the text that computers send: words, numbers, listings, messages. */

/** Letters of English text in thousandths, E to Z by frequency. Common tables, from memory. */
const LETTERS: Readonly<Record<string, number>> = {
  e: 127,
  t: 91,
  a: 82,
  o: 75,
  i: 70,
  n: 67,
  s: 63,
  h: 61,
  r: 60,
  d: 43,
  l: 40,
  c: 28,
  u: 28,
  m: 24,
  w: 24,
  f: 22,
  g: 20,
  y: 20,
  p: 19,
  b: 15,
  v: 10,
  k: 8,
  j: 2,
  x: 2,
  q: 1,
  z: 1,
};

/** Shares of the kinds of character; those in a list share theirs alike. Common practice, no source. */
const SMALL = 0.45;
const CAPITAL = 0.19;
const KINDS: readonly (readonly [string, number])[] = [
  [" ", 0.14],
  ["0123456789", 0.08],
  [".,:;-/()*='\"$#!?+<>@%&[]_^\\{}|~`", 0.08],
  ["\r\n", 0.045],
  ["\u001b\u0007\b\t\u0000\u000c", 0.006],
];
/** What is left for every other control character. */
const OTHER = 0.0005;

function sevenBits(): Float64Array {
  const table = new Float64Array(128).fill(OTHER / 32);
  for (const [letter, weight] of Object.entries(LETTERS)) {
    table[letter.charCodeAt(0)] = (SMALL * weight) / 1000;
    table[letter.charCodeAt(0) - 0x20] = (CAPITAL * weight) / 1000;
  }
  // No printing character is all but impossible: a listing has its Q and its Z.
  for (const [characters, share] of KINDS)
    for (const each of characters) table[each.charCodeAt(0)] = share / characters.length;
  for (let code = 0x20; code < 0x7f; code++) table[code] = Math.max(table[code]!, 0.0008);
  const sum = table.reduce((total, each) => total + each, 0);
  return table.map((each) => each / sum);
}

/** Share of 8-bit text that has its top bit set. Common practice, no source. */
const TOP_BIT = 0.02;

/** Probability of each code of 7 or 8 data bits. */
export function codeProbabilities(dataBits: 7 | 8): Float64Array {
  const low = sevenBits();
  if (dataBits === 7) return low;
  const table = new Float64Array(256);
  for (let code = 0; code < 256; code++) table[code] = code < 128 ? low[code]! * (1 - TOP_BIT) : TOP_BIT / 128;
  return table;
}
