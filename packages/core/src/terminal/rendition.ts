import type { Sequence } from "./scanner.ts";

/**
 * Graphic rendition of a character position (ECMA-48 8.3.117, SGR) in one number: a bit an aspect, and four bits each for
 * the character's and the background's colour (0 the default, 1 to 8 for 30–37 and 40–47).
 */
export const Rendition = {
  Bold: 1,
  Faint: 2,
  Italic: 4,
  Underlined: 8,
  Blinking: 16,
  Negative: 32,
  Concealed: 64,
  CrossedOut: 128,
  /** Not by SGR: several characters were struck over one another on paper. */
  Struck: 256,
} as const;
const COLOUR = 12;
const BACKGROUND = 16;

const colourOf = (rendition: number): number => (rendition >> COLOUR) & 15;
const backgroundOf = (rendition: number): number => (rendition >> BACKGROUND) & 15;
const withColour = (rendition: number, colour: number): number => (rendition & ~(15 << COLOUR)) | (colour << COLOUR);
const withBackground = (rendition: number, colour: number): number =>
  (rendition & ~(15 << BACKGROUND)) | (colour << BACKGROUND);

/** SGR parameter, what it sets and what it clears. */
const ASPECTS: readonly (readonly [value: number, set: number, clear: number])[] = [
  [1, Rendition.Bold, 0],
  [2, Rendition.Faint, 0],
  [3, Rendition.Italic, 0],
  [4, Rendition.Underlined, 0],
  [5, Rendition.Blinking, 0],
  [6, Rendition.Blinking, 0],
  [7, Rendition.Negative, 0],
  [8, Rendition.Concealed, 0],
  [9, Rendition.CrossedOut, 0],
  [21, Rendition.Underlined, 0],
  [22, 0, Rendition.Bold | Rendition.Faint],
  [23, 0, Rendition.Italic],
  [24, 0, Rendition.Underlined],
  [25, 0, Rendition.Blinking],
  [27, 0, Rendition.Negative],
  [28, 0, Rendition.Concealed],
  [29, 0, Rendition.CrossedOut],
];
const bySgr = new Map(ASPECTS.map(([value, set, clear]) => [value, { set, clear }]));

/** The rendition after an SGR. 38 and 48 are reserved for ISO 8613-6 colours: their parameters are passed over. */
export function afterSgr(before: number, sequence: Sequence): number {
  let rendition = before;
  if (sequence.count === 0) return 0;
  for (let i = 0; i < Math.min(sequence.count, sequence.values.length); i++) {
    if (sequence.sub[i]) continue;
    const value = Math.max(0, sequence.values[i]!);
    const aspect = bySgr.get(value);
    if (value === 0) rendition = 0;
    else if (aspect) rendition = (rendition & ~aspect.clear) | aspect.set;
    else if (value >= 30 && value <= 37) rendition = withColour(rendition, value - 29);
    else if (value === 39) rendition = withColour(rendition, 0);
    else if (value >= 40 && value <= 47) rendition = withBackground(rendition, value - 39);
    else if (value === 49) rendition = withBackground(rendition, 0);
    else if ((value === 38 || value === 48) && !sequence.sub[i + 1])
      i += sequence.values[i + 1] === 5 ? 2 : sequence.values[i + 1] === 2 ? 4 : 0;
  }
  return rendition;
}

/** The bytes of an SGR that gives exactly this rendition, whatever went before. */
export function sgrFor(rendition: number): string {
  const parts = ["0"];
  for (const [value, set] of ASPECTS)
    if (set && value !== 6 && value !== 21 && (rendition & set) === set) parts.push(String(value));
  if (colourOf(rendition)) parts.push(String(colourOf(rendition) + 29));
  if (backgroundOf(rendition)) parts.push(String(backgroundOf(rendition) + 39));
  return `\u001b[${parts.length === 1 ? "" : parts.join(";")}m`;
}
