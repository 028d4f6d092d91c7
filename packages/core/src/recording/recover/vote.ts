import type { RecordingCode } from "../../catalogue/index.ts";
import { type Cells, cellAt, word16 } from "../cells.ts";
import { dataOf, FM_WORDS, MFM_WORDS } from "../codes.ts";
import { ZONED_BYTES } from "../group.ts";
import type { ReadCells } from "./loop.ts";

/** One read of a field: where its first byte begins, in which stream of cells. */
export interface FieldRead {
  stream: ReadCells;
  at: number;
}

export interface Vote {
  cells: Cells;
  /** For each byte, the agreement of its weakest cell: 1 where all reads say the same with full weight, 0 for a tie. */
  confidence: Float32Array;
}

/** Weight of a cell by how far its own transition, or a neighbour's, lies from the edge between them. */
function weightOf({ offsets }: ReadCells, cell: number): number {
  const own = offsets[cell] ?? 0;
  const before = offsets[cell - 1] ?? 0;
  const after = offsets[cell + 1] ?? 0;
  const near = Math.max(Math.abs(own), before, -after, 0);
  return 1.05 - near / 127;
}

/** Does the byte's place break the rule of the code? Garbage after a lost cell does so all the time. */
function breaksRule(bits: Uint8Array, at: number, code: RecordingCode): boolean {
  const word = word16(bits, at);
  if (code === "FM") return FM_WORDS[dataOf(word)] !== word;
  // The clock in front depends on the byte before: either may stand.
  if (code === "MFM") return MFM_WORDS[dataOf(word)] !== word && MFM_WORDS[dataOf(word) | 0x100] !== word;
  return ZONED_BYTES[word >> 6]! < 0;
}

/**
 * Votes cell by cell over several reads of a field of `bytes` bytes. Each read counts by how safely its transitions lie
 * within their cells, and for less where its cells have been breaking the rule of the code.
 */
export function voteField(reads: readonly FieldRead[], bytes: number, code: RecordingCode): Vote {
  const width = code === "zoned 4-to-5 group code" ? 10 : 16;
  const sums = new Float32Array(bytes * width);
  const weights = new Float32Array(bytes * width);
  for (const { stream, at } of reads) {
    let trouble = 0;
    for (let byte = 0; byte < bytes; byte++) {
      const from = at + byte * width;
      trouble = 0.8 * trouble + (breaksRule(stream.cells.bits, from, code) ? 1 : 0);
      const trust = 1 / (1 + 8 * trouble);
      for (let k = 0; k < width; k++) {
        const cell = from + k;
        if (cell >= stream.cells.length) break;
        const weight = trust * weightOf(stream, cell);
        const i = byte * width + k;
        sums[i] = sums[i]! + (cellAt(stream.cells, cell) ? weight : -weight);
        weights[i] = weights[i]! + weight;
      }
    }
  }
  // Three bytes over, for readers that look at whole words.
  const bits = new Uint8Array(((bytes * width + 7) >> 3) + 3);
  const confidence = new Float32Array(bytes).fill(1);
  for (let i = 0; i < sums.length; i++) {
    if (sums[i]! > 0) bits[i >> 3] = bits[i >> 3]! | (0x80 >> (i & 7));
    const share = weights[i]! > 0 ? Math.abs(sums[i]!) / weights[i]! : 0;
    const byte = Math.floor(i / width);
    if (share < confidence[byte]!) confidence[byte] = share;
  }
  return { cells: { bits, length: bytes * width }, confidence };
}
