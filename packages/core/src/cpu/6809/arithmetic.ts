import type { Cpu6809 } from "./cpu.ts";

// Results with their flags, after the programming manual's boolean formulae. Where the manual calls a flag undefined (H after
// subtraction, negation and shifts; V after DAA), H keeps its value and V is cleared. The masks are written out, in the order
// EFHINZVC: this code runs for most instructions, and a bundler turns a name into a variable that is looked up each time.

const nz8 = (value: number): number => ((value >> 4) & 0x08) | (value === 0 ? 0x04 : 0);
const nz16 = (value: number): number => ((value >> 12) & 0x08) | (value === 0 ? 0x04 : 0);

/** Logic, loads and stores: N and Z by the value, V cleared. */
export function test8(cpu: Cpu6809, value: number): number {
  cpu.cc = (cpu.cc & 0xf1) | nz8(value);
  return value;
}

export function test16(cpu: Cpu6809, value: number): number {
  cpu.cc = (cpu.cc & 0xf1) | nz16(value);
  return value;
}

export function add8(cpu: Cpu6809, left: number, right: number, carry: number): number {
  const sum = left + right + carry;
  const carries = left ^ right ^ sum;
  const result = sum & 0xff;
  cpu.cc =
    (cpu.cc & 0xd0) |
    ((carries << 1) & 0x20) |
    nz8(result) |
    (((carries ^ (sum >> 1)) >> 6) & 0x02) |
    ((sum >> 8) & 0x01);
  return result;
}

export function sub8(cpu: Cpu6809, left: number, right: number, borrow: number): number {
  const difference = left - right - borrow;
  const result = difference & 0xff;
  cpu.cc =
    (cpu.cc & 0xf0) | nz8(result) | ((((left ^ right) & (left ^ result)) >> 6) & 0x02) | ((difference >> 8) & 0x01);
  return result;
}

export function add16(cpu: Cpu6809, left: number, right: number): number {
  const sum = left + right;
  const result = sum & 0xffff;
  cpu.cc = (cpu.cc & 0xf0) | nz16(result) | (((~(left ^ right) & (left ^ result)) >> 14) & 0x02) | ((sum >> 16) & 0x01);
  return result;
}

export function sub16(cpu: Cpu6809, left: number, right: number): number {
  const difference = left - right;
  const result = difference & 0xffff;
  cpu.cc =
    (cpu.cc & 0xf0) | nz16(result) | ((((left ^ right) & (left ^ result)) >> 14) & 0x02) | ((difference >> 16) & 0x01);
  return result;
}

export const neg = (cpu: Cpu6809, value: number): number => sub8(cpu, 0, value, 0);

export function com(cpu: Cpu6809, value: number): number {
  const result = test8(cpu, value ^ 0xff);
  cpu.cc |= 0x01;
  return result;
}

export function inc(cpu: Cpu6809, value: number): number {
  const result = test8(cpu, (value + 1) & 0xff);
  if (result === 0x80) cpu.cc |= 0x02;
  return result;
}

export function dec(cpu: Cpu6809, value: number): number {
  const result = test8(cpu, (value - 1) & 0xff);
  if (result === 0x7f) cpu.cc |= 0x02;
  return result;
}

export function clear(cpu: Cpu6809): number {
  cpu.cc = (cpu.cc & 0xf4) | 0x04;
  return 0;
}

/** Right shifts leave V alone. */
function right(cpu: Cpu6809, value: number, result: number): number {
  cpu.cc = (cpu.cc & 0xf2) | nz8(result) | (value & 0x01);
  return result;
}

export const lsr = (cpu: Cpu6809, value: number): number => right(cpu, value, value >> 1);
export const asr = (cpu: Cpu6809, value: number): number => right(cpu, value, (value & 0x80) | (value >> 1));
export const ror = (cpu: Cpu6809, value: number): number => right(cpu, value, ((cpu.cc & 0x01) << 7) | (value >> 1));

/** Left shifts: V is bit 7 exclusive-or bit 6 of the operand. */
function left(cpu: Cpu6809, value: number, low: number): number {
  const result = ((value << 1) & 0xff) | low;
  cpu.cc = (cpu.cc & 0xf0) | nz8(result) | (((value ^ (value << 1)) >> 6) & 0x02) | (value >> 7);
  return result;
}

export const asl = (cpu: Cpu6809, value: number): number => left(cpu, value, 0);
export const rol = (cpu: Cpu6809, value: number): number => left(cpu, value, cpu.cc & 0x01);

/** Decimal adjust after an addition; C is set or kept, never cleared. */
export function daa(cpu: Cpu6809): void {
  const low = cpu.a & 0x0f;
  const high = cpu.a & 0xf0;
  let correction = 0;
  if (cpu.cc & 0x20 || low > 9) correction |= 0x06;
  if (cpu.cc & 0x01 || high > 0x90 || (high > 0x80 && low > 9)) correction |= 0x60;
  const sum = cpu.a + correction;
  cpu.a = test8(cpu, sum & 0xff);
  cpu.cc |= (sum >> 8) & 0x01;
}

/** D = A × B unsigned; C is bit 7 of B, so that ADCA #0 rounds. */
export function mul(cpu: Cpu6809): void {
  const product = cpu.a * cpu.b;
  cpu.a = product >> 8;
  cpu.b = product & 0xff;
  cpu.cc = (cpu.cc & 0xfa) | (product === 0 ? 0x04 : 0) | (cpu.b >> 7);
}
