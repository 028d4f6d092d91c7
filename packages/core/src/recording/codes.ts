/**
 * FM and MFM: a data bit takes two cells, the clock cell and then the data cell. FM puts a transition in every clock cell;
 * MFM only between two zero bits. Address marks leave out clocks that the rule asks for, so that no data reads like them.
 * Mark bytes and clocks: 179x disk controller data sheet, section 9.
 */

/** Cell words of 16: bits of `data` in the odd places, bits of `clock` in the even ones. */
function interleave(clock: number, data: number): number {
  let word = 0;
  for (let bit = 7; bit >= 0; bit--) word = (word << 2) | (((clock >> bit) & 1) << 1) | ((data >> bit) & 1);
  return word;
}

/** Clock bits of a byte in MFM, after a last data bit of `before`. */
const mfmClock = (data: number, before: number): number => ~(data | (data >> 1) | (before << 7)) & 0xff;

export const FM_WORDS: Uint16Array = Uint16Array.from({ length: 256 }, (_, byte) => interleave(0xff, byte));
/** By last bit before, times 256, plus the byte. */
export const MFM_WORDS: Uint16Array = Uint16Array.from({ length: 512 }, (_, index) =>
  interleave(mfmClock(index & 0xff, index >> 8), index & 0xff),
);

/** Data bits of 8 cells. */
const NIBBLE_OF = Uint8Array.from({ length: 256 }, (_, cells) =>
  [6, 4, 2, 0].reduce((data, bit) => (data << 1) | ((cells >> bit) & 1), 0),
);
/** Data bits of 16 cells. */
export const dataOf = (word: number): number => (NIBBLE_OF[word >> 8]! << 4) | NIBBLE_OF[word & 0xff]!;

export const MARK = { index: 0xfc, id: 0xfe, data: 0xfb, deleted: 0xf8 } as const;

/** Is this a data mark? The controller takes F8 to FB; F8 says that the data are deleted. */
export const isDataMark = (mark: number): boolean => mark >= 0xf8 && mark <= 0xfb;

const FM_MARK_CLOCK = 0xc7;
const FM_INDEX_CLOCK = 0xd7;
/** Cells of an FM mark: the index mark has a clock of its own. */
export const fmMark = (mark: number): number => interleave(mark === MARK.index ? FM_INDEX_CLOCK : FM_MARK_CLOCK, mark);

/** A1 without the clock between bits 4 and 5, C2 without the one between bits 3 and 4: three of them before each mark. */
export const MFM_SYNC = { byte: 0xa1, word: interleave(0x0a, 0xa1) } as const;
export const MFM_INDEX_SYNC = { byte: 0xc2, word: interleave(0x14, 0xc2) } as const;

/** CRC register after the three A1 of MFM, and before a mark of FM. */
export const MFM_PRESET = 0xcdb4;
export const FM_PRESET = 0xffff;

/** Size code of an ID field: 128 bytes and its doublings. */
export const sizeCode = (size: number): number => Math.round(Math.log2(size / 128));
export const sizeOfCode = (code: number): number => 128 << (code & 7);
