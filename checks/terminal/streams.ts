/** Random streams of text and control functions; the same for the same seed. */

export type Random = (below: number) => number;

export function randomFrom(seed: number): Random {
  let state = (seed ^ 0x9e3779b9) >>> 0;
  return (below) => {
    // xorshift32 (Marsaglia 2003)
    state ^= state << 13;
    state >>>= 0;
    state ^= state >>> 17;
    state ^= state << 5;
    state >>>= 0;
    return state % below;
  };
}

const pick = <T>(random: Random, from: readonly T[]): T => from[random(from.length)]!;
const bytes = (text: string): number[] => [...text].map((each) => each.charCodeAt(0));

const SEQUENCES = "@ABCDEFGHIJKLMPSTXZ`abdefghlm";
/** Every final byte, assigned or not. */
const ANY_FINAL = Array.from({ length: 0x7f - 0x40 }, (_, i) => String.fromCharCode(0x40 + i));

function parameters(random: Random): string {
  const one = (): string =>
    pick(random, [
      "",
      "",
      "0",
      "1",
      "1",
      "2",
      "3",
      "4",
      "5",
      "7",
      "10",
      "20",
      "007",
      String(random(30)),
      String(random(99)),
    ]);
  return Array.from({ length: pick(random, [0, 1, 1, 1, 2, 2, 3]) }, one).join(";");
}

const csi = (random: Random): number[] => (random(8) === 0 ? [0x9b] : [0x1b, 0x5b]);

/** One piece: text, a control, an escape sequence, a control sequence, a control string, or plain noise. */
function piece(random: Random): number[] {
  const kind = random(100);
  if (kind < 38) return Array.from({ length: 1 + random(12) }, () => 0x20 + random(0x5f));
  if (kind < 42) return Array.from({ length: 1 + random(70) }, () => 0x41 + random(26));
  if (kind < 56) return [pick(random, [8, 9, 10, 11, 12, 13, 13, 10, 7, 0, 5, 0x10, 0x1c])];
  if (kind < 84) return [...csi(random), ...bytes(parameters(random) + pick(random, [...SEQUENCES]))];
  if (kind < 88) return pick(random, [[0x1b, 0x44], [0x1b, 0x45], [0x1b, 0x48], [0x1b, 0x4d], [0x84], [0x85], [0x88]]);
  if (kind === 88) return [0x1b, 0x63];
  if (kind < 91)
    return [...csi(random), ...bytes(parameters(random) + pick(random, [" ", ""]) + pick(random, ANY_FINAL))];
  if (kind < 93)
    return [
      ...csi(random),
      ...bytes(pick(random, ["?", ">", "<", "="]) + parameters(random) + pick(random, ANY_FINAL)),
    ];
  if (kind === 93)
    return [0x1b, ...bytes(pick(random, [" F", "(B", ")A", "%G", "#3", "7", "8", "=", ">", "n", "~", "l"]))];
  if (kind < 96)
    return [
      ...pick(random, [[0x1b, 0x5d], [0x1b, 0x50], [0x1b, 0x5e], [0x1b, 0x5f], [0x1b, 0x58], [0x9d], [0x90], [0x98]]),
      ...Array.from({ length: random(12) }, () => 0x20 + random(0x5f)),
      ...pick(random, [[0x1b, 0x5c], [0x9c], [0x1b, 0x5c], [0x18], [0x07], [0x1b, 0x5b, 0x41]]),
    ];
  if (kind < 98)
    return [
      ...csi(random),
      ...bytes(parameters(random)),
      pick(random, [0x0a, 0x08, 0x18, 0x1a, 0x1b, 0x7f]),
      ...bytes("3C"),
    ];
  if (kind === 98)
    return Array.from({ length: 1 + random(4) }, () => 0xa1 + random(0x5f)).map((each) =>
      each === 0xad ? 0xae : each,
    );
  return Array.from({ length: 1 + random(6) }, () => random(256));
}

export function randomPieces(seed: number): number[][] {
  const random = randomFrom(seed);
  random(2);
  return Array.from({ length: 5 + random(60) }, () => piece(random));
}

/** Columns and rows of the screen on which a stream is tried. */
export const sizeOf = (seed: number): { columns: number; rows: number } => ({
  columns: [80, 40, 20, 13, 132][seed % 5]!,
  rows: [24, 6, 10, 3, 24][seed % 5]!,
});
