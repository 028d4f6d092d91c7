/** Bits of the condition code register, as the programming manual names them. */
export const E = 0x80;
export const F = 0x40;
export const I = 0x10;
export const N = 0x08;
export const Z = 0x04;
export const V = 0x02;
export const C = 0x01;
