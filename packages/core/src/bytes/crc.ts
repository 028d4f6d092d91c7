/**
 * Cyclic redundancy checks of disks and program modules. Parameters are those of the catalogue of parametrised CRC
 * algorithms: width, polynomial, preset, reflection none, final XOR.
 */

const table16 = (polynomial: number): Uint16Array =>
  Uint16Array.from({ length: 256 }, (_, index) => {
    let value = index << 8;
    for (let bit = 0; bit < 8; bit++) value = value & 0x8000 ? (value << 1) ^ polynomial : value << 1;
    return value & 0xffff;
  });

const CCITT = table16(0x1021);

/**
 * CRC-16 with x^16+x^12+x^5+1, most significant bit first, no final XOR. `preset` 0xFFFF is the disk's (check value
 * 29B1), 0 is that of XMODEM-CRC (31C3). Pass a previous result to go on.
 */
export function crc16(bytes: Uint8Array, preset = 0xffff): number {
  let value = preset;
  for (let i = 0; i < bytes.length; i++) value = ((value << 8) & 0xffff) ^ CCITT[(value >> 8) ^ bytes[i]!]!;
  return value;
}

const MODULE_POLYNOMIAL = 0x800063;

/** tables[k][b]: byte b followed by k zero bytes, so that four bytes take one step. */
const MODULE_TABLES = (() => {
  const tables = [0, 1, 2, 3].map(() => new Uint32Array(256));
  for (let index = 0; index < 256; index++) {
    let value = index << 16;
    for (let bit = 0; bit < 8; bit++) value = value & 0x800000 ? (value << 1) ^ MODULE_POLYNOMIAL : value << 1;
    tables[0]![index] = value & 0xffffff;
  }
  for (let k = 1; k < 4; k++)
    for (let index = 0; index < 256; index++) {
      const before = tables[k - 1]![index]!;
      tables[k]![index] = ((before << 8) & 0xffffff) ^ tables[0]![before >>> 16]!;
    }
  return tables as [Uint32Array, Uint32Array, Uint32Array, Uint32Array];
})();

/** What the raw register holds after a whole, undamaged module, its stored CRC included. */
export const MODULE_CRC_RESIDUE = 0x800fe3;

/**
 * Raw 24-bit register of a program module's CRC (polynomial 800063, preset FFFFFF, not complemented) over
 * `bytes[from, to)`. A module stores the complement; over the whole module the register is `MODULE_CRC_RESIDUE`.
 */
export function crc24Register(bytes: Uint8Array, from = 0, to = bytes.length, preset = 0xffffff): number {
  const [t0, t1, t2, t3] = MODULE_TABLES;
  let value = preset;
  let at = from;
  for (; at + 4 <= to; at += 4)
    value =
      t3[(value >>> 16) ^ bytes[at]!]! ^
      t2[((value >>> 8) & 0xff) ^ bytes[at + 1]!]! ^
      t1[(value & 0xff) ^ bytes[at + 2]!]! ^
      t0[bytes[at + 3]!]!;
  for (; at < to; at++) value = ((value << 8) & 0xffffff) ^ t0[(value >>> 16) ^ bytes[at]!]!;
  return value;
}

/** The three bytes' worth of CRC that a module over `bytes` stores: the complement of the register. */
export const moduleCrc = (bytes: Uint8Array): number => crc24Register(bytes) ^ 0xffffff;
