import type { Cpu6809 } from "./cpu.ts";
import { C, H, N, V, Z } from "./flags.ts";

// Results with their flags, after the programming manual's boolean formulae. Where the manual calls a flag undefined (H after
// subtraction, negation and shifts; V after DAA), H keeps its value and V is cleared.

const nz8 = (value: number): number => ((value >> 4) & N) | (value === 0 ? Z : 0);
const nz16 = (value: number): number => ((value >> 12) & N) | (value === 0 ? Z : 0);

/** Logic, loads and stores: N and Z by the value, V cleared. */
export function test8(cpu: Cpu6809, value: number): number {
  cpu.cc = (cpu.cc & ~(N | Z | V)) | nz8(value);
  return value;
}

export function test16(cpu: Cpu6809, value: number): number {
  cpu.cc = (cpu.cc & ~(N | Z | V)) | nz16(value);
  return value;
}

export function add8(cpu: Cpu6809, left: number, right: number, carry: number): number {
  const sum = left + right + carry;
  const carries = left ^ right ^ sum;
  const result = sum & 0xff;
  cpu.cc =
    (cpu.cc & ~(H | N | Z | V | C)) |
    ((carries << 1) & H) |
    nz8(result) |
    (((carries ^ (sum >> 1)) >> 6) & V) |
    ((sum >> 8) & C);
  return result;
}

export function sub8(cpu: Cpu6809, left: number, right: number, borrow: number): number {
  const difference = left - right - borrow;
  const result = difference & 0xff;
  cpu.cc =
    (cpu.cc & ~(N | Z | V | C)) |
    nz8(result) |
    ((((left ^ right) & (left ^ result)) >> 6) & V) |
    ((difference >> 8) & C);
  return result;
}

export function add16(cpu: Cpu6809, left: number, right: number): number {
  const sum = left + right;
  const result = sum & 0xffff;
  cpu.cc =
    (cpu.cc & ~(N | Z | V | C)) | nz16(result) | (((~(left ^ right) & (left ^ result)) >> 14) & V) | ((sum >> 16) & C);
  return result;
}

export function sub16(cpu: Cpu6809, left: number, right: number): number {
  const difference = left - right;
  const result = difference & 0xffff;
  cpu.cc =
    (cpu.cc & ~(N | Z | V | C)) |
    nz16(result) |
    ((((left ^ right) & (left ^ result)) >> 14) & V) |
    ((difference >> 16) & C);
  return result;
}

export const neg = (cpu: Cpu6809, value: number): number => sub8(cpu, 0, value, 0);

export function com(cpu: Cpu6809, value: number): number {
  const result = test8(cpu, value ^ 0xff);
  cpu.cc |= C;
  return result;
}

export function inc(cpu: Cpu6809, value: number): number {
  const result = test8(cpu, (value + 1) & 0xff);
  if (result === 0x80) cpu.cc |= V;
  return result;
}

export function dec(cpu: Cpu6809, value: number): number {
  const result = test8(cpu, (value - 1) & 0xff);
  if (result === 0x7f) cpu.cc |= V;
  return result;
}

export function clear(cpu: Cpu6809): number {
  cpu.cc = (cpu.cc & ~(N | V | C)) | Z;
  return 0;
}

/** Right shifts leave V alone. */
function right(cpu: Cpu6809, value: number, result: number): number {
  cpu.cc = (cpu.cc & ~(N | Z | C)) | nz8(result) | (value & C);
  return result;
}

export const lsr = (cpu: Cpu6809, value: number): number => right(cpu, value, value >> 1);
export const asr = (cpu: Cpu6809, value: number): number => right(cpu, value, (value & 0x80) | (value >> 1));
export const ror = (cpu: Cpu6809, value: number): number => right(cpu, value, ((cpu.cc & C) << 7) | (value >> 1));

/** Left shifts: V is bit 7 exclusive-or bit 6 of the operand. */
function left(cpu: Cpu6809, value: number, low: number): number {
  const result = ((value << 1) & 0xff) | low;
  cpu.cc = (cpu.cc & ~(N | Z | V | C)) | nz8(result) | (((value ^ (value << 1)) >> 6) & V) | (value >> 7);
  return result;
}

export const asl = (cpu: Cpu6809, value: number): number => left(cpu, value, 0);
export const rol = (cpu: Cpu6809, value: number): number => left(cpu, value, cpu.cc & C);

/** Decimal adjust after an addition; C is set or kept, never cleared. */
export function daa(cpu: Cpu6809): void {
  const low = cpu.a & 0x0f;
  const high = cpu.a & 0xf0;
  let correction = 0;
  if (cpu.cc & H || low > 9) correction |= 0x06;
  if (cpu.cc & C || high > 0x90 || (high > 0x80 && low > 9)) correction |= 0x60;
  const sum = cpu.a + correction;
  cpu.a = test8(cpu, sum & 0xff);
  cpu.cc |= (sum >> 8) & C;
}

/** D = A × B unsigned; C is bit 7 of B, so that ADCA #0 rounds. */
export function mul(cpu: Cpu6809): void {
  const product = cpu.a * cpu.b;
  cpu.a = product >> 8;
  cpu.b = product & 0xff;
  cpu.cc = (cpu.cc & ~(Z | C)) | (product === 0 ? Z : 0) | (cpu.b >> 7);
}
