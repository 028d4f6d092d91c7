/** Bits of F. X and Y are the undocumented bits 3 and 5. */
export const S = 0x80;
export const Z = 0x40;
export const Y = 0x20;
export const H = 0x10;
export const X = 0x08;
export const P = 0x04;
export const N = 0x02;
export const C = 0x01;
export const XY = X | Y;

/** S, Z, X and Y by a result. */
export const SZXY = Uint8Array.from({ length: 256 }, (_, value) => (value & (S | XY)) | (value === 0 ? Z : 0));

function even(value: number): boolean {
  let bits = 0;
  for (let left = value; left !== 0; left >>= 1) bits += left & 1;
  return bits % 2 === 0;
}

/** The parity flag by a byte. */
export const PARITY = Uint8Array.from({ length: 256 }, (_, value) => (even(value) ? P : 0));

/** S, Z, X, Y and parity by a result. */
export const SZXYP = SZXY.map((flags, value) => flags | PARITY[value]!);

/** H, overflow and C by the carries into bits 0 to 8 of a sum, or the borrows of a difference: operands and result, exclusive OR. */
export const CARRIES = Uint8Array.from(
  { length: 512 },
  (_, into) => (into & H) | (((into >> 5) ^ (into >> 6)) & P) | (into >> 8),
);

/** All flags but C after INC and DEC, by the value before. */
export const AFTER_INC = Uint8Array.from(SZXY, (_, value) => {
  const result = (value + 1) & 0xff;
  return SZXY[result]! | ((value ^ result) & H) | (value === 0x7f ? P : 0);
});
export const AFTER_DEC = Uint8Array.from(SZXY, (_, value) => {
  const result = (value - 1) & 0xff;
  return SZXY[result]! | ((value ^ result) & H) | (value === 0x80 ? P : 0) | N;
});

/** Where each register byte lies. IX and IY follow, so that H and L are replaced by adding. */
export const B = 0;
export const CR = 1;
export const DR = 2;
export const ER = 3;
export const HR = 4;
export const LR = 5;
export const A = 7;
export const IX = 8;
export const IY = 10;
