import type { Cpu6502 } from "./cpu.ts";

/** Bits of the status register. */
export const N = 0x80;
export const V = 0x40;
/** Reads as one; set only in a copy that PHP or BRK pushes. */
export const BREAK = 0x10;
export const UNUSED = 0x20;
export const D = 0x08;
export const I = 0x04;
export const Z = 0x02;
export const C = 0x01;

export function nz(cpu: Cpu6502, value: number): number {
  cpu.n = cpu.z = value;
  return value;
}

function nzc(cpu: Cpu6502, value: number, carry: number): number {
  cpu.n = cpu.z = value;
  cpu.c = carry;
  return value;
}

export const asl = (cpu: Cpu6502, value: number): number => nzc(cpu, (value << 1) & 0xff, value >> 7);
export const lsr = (cpu: Cpu6502, value: number): number => nzc(cpu, value >> 1, value & 1);
export const rol = (cpu: Cpu6502, value: number): number => nzc(cpu, ((value << 1) & 0xff) | cpu.c, value >> 7);
export const ror = (cpu: Cpu6502, value: number): number => nzc(cpu, (cpu.c << 7) | (value >> 1), value & 1);
export const inc = (cpu: Cpu6502, value: number): number => nz(cpu, (value + 1) & 0xff);
export const dec = (cpu: Cpu6502, value: number): number => nz(cpu, (value - 1) & 0xff);

export function compare(cpu: Cpu6502, register: number, value: number): void {
  nzc(cpu, (register - value) & 0xff, register >= value ? 1 : 0);
}

// Masks are written out, V 40 and D 08: a bundler turns a name into a variable that is looked up each time.

function addBinary(cpu: Cpu6502, value: number): void {
  const { a } = cpu;
  const sum = a + value + cpu.c;
  const result = sum & 0xff;
  cpu.rest = (cpu.rest & 0x3c) | ((~(a ^ value) & (a ^ result) & 0x80) >> 1);
  cpu.n = cpu.z = result;
  cpu.c = sum >> 8;
  cpu.a = result;
}

export function adc(cpu: Cpu6502, value: number): void {
  if (cpu.rest & 0x08) adcDecimal(cpu, value);
  else addBinary(cpu, value);
}

/**
 * The NMOS part's decimal addition. Documented are A and C; Z is that of the binary sum, N and V are taken between the two
 * digits' corrections (common practice).
 */
function adcDecimal(cpu: Cpu6502, value: number): void {
  const { a } = cpu;
  const carry = cpu.c;
  let low = (a & 0x0f) + (value & 0x0f) + carry;
  if (low > 9) low = ((low + 6) & 0x0f) + 0x10;
  let sum = (a & 0xf0) + (value & 0xf0) + low;
  cpu.p =
    (cpu.p & ~(N | V | Z | C)) |
    (sum & N) |
    ((~(a ^ value) & (a ^ sum) & 0x80) >> 1) |
    (((a + value + carry) & 0xff) === 0 ? Z : 0);
  if (sum > 0x9f) sum += 0x60;
  if (sum > 0xff) cpu.c = 1;
  cpu.a = sum & 0xff;
}

/** Subtraction is addition of the complement; in decimal mode all flags are those of the binary difference. */
export function sbc(cpu: Cpu6502, value: number): void {
  const { a } = cpu;
  const borrow = 1 - cpu.c;
  addBinary(cpu, value ^ 0xff);
  if (!(cpu.rest & 0x08)) return;
  let low = (a & 0x0f) - (value & 0x0f) - borrow;
  if (low < 0) low = ((low - 6) & 0x0f) - 0x10;
  let difference = (a & 0xf0) - (value & 0xf0) + low;
  if (difference < 0) difference -= 0x60;
  cpu.a = difference & 0xff;
}

/** Undocumented: AND, then ROR with flags of its own, and a decimal correction (common practice). */
export function arr(cpu: Cpu6502, value: number): void {
  const and = cpu.a & value;
  const rotated = ((cpu.p & C) << 7) | (and >> 1);
  nz(cpu, rotated);
  cpu.p = (cpu.p & ~(V | C)) | ((and ^ rotated) & V);
  cpu.a = rotated;
  if (!(cpu.p & D)) {
    cpu.p |= (rotated >> 6) & C;
    return;
  }
  if ((and & 0x0f) + (and & 0x01) > 5) cpu.a = (cpu.a & 0xf0) | ((cpu.a + 6) & 0x0f);
  if ((and & 0xf0) + (and & 0x10) > 0x50) {
    cpu.a = (cpu.a + 0x60) & 0xff;
    cpu.p |= C;
  }
}
