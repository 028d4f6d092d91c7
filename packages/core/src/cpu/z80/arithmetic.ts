import type { CpuZ80 } from "./cpu.ts";
import { A, C, F, H, HR, N, P, S, SZXY, SZXYP, X, XY, Y, Z } from "./flags.ts";

// Results with their flags: Z80 CPU user manual; X and Y by common practice.

export function add(cpu: CpuZ80, value: number, carry: number): void {
  const a = cpu.bytes[A]!;
  const sum = a + value + carry;
  const result = sum & 0xff;
  cpu.setF(SZXY[result]! | (sum >> 8) | ((a ^ value ^ sum) & H) | ((~(a ^ value) & (a ^ sum) & 0x80) >> 5));
  cpu.bytes[A] = result;
}

function difference(a: number, value: number, carry: number): number {
  const result = a - value - carry;
  return (
    SZXY[result & 0xff]! |
    ((result >> 8) & C) |
    ((a ^ value ^ result) & H) |
    (((a ^ value) & (a ^ result) & 0x80) >> 5) |
    N
  );
}

export function sub(cpu: CpuZ80, value: number, carry: number): void {
  const a = cpu.bytes[A]!;
  cpu.setF(difference(a, value, carry));
  cpu.bytes[A] = a - value - carry;
}

/** X and Y come from the operand here. */
export function cp(cpu: CpuZ80, value: number): void {
  cpu.setF((difference(cpu.bytes[A]!, value, 0) & ~XY) | (value & XY));
}

export function and(cpu: CpuZ80, value: number): void {
  const result = cpu.bytes[A]! & value;
  cpu.bytes[A] = result;
  cpu.setF(SZXYP[result]! | H);
}

export function xor(cpu: CpuZ80, value: number): void {
  const result = cpu.bytes[A]! ^ value;
  cpu.bytes[A] = result;
  cpu.setF(SZXYP[result]!);
}

export function or(cpu: CpuZ80, value: number): void {
  const result = cpu.bytes[A]! | value;
  cpu.bytes[A] = result;
  cpu.setF(SZXYP[result]!);
}

export function inc(cpu: CpuZ80, value: number): number {
  const result = (value + 1) & 0xff;
  cpu.setF((cpu.bytes[F]! & C) | SZXY[result]! | ((value ^ result) & H) | (value === 0x7f ? P : 0));
  return result;
}

export function dec(cpu: CpuZ80, value: number): number {
  const result = (value - 1) & 0xff;
  cpu.setF((cpu.bytes[F]! & C) | SZXY[result]! | ((value ^ result) & H) | (value === 0x80 ? P : 0) | N);
  return result;
}

/** HL, IX or IY (`pair`): S, Z and P stay. */
export function addPair(cpu: CpuZ80, pair: number, value: number): void {
  const before = cpu.pair(pair);
  const sum = before + value;
  cpu.wz = (before + 1) & 0xffff;
  cpu.setF((cpu.bytes[F]! & (S | Z | P)) | ((sum >> 8) & XY) | (((before ^ value ^ sum) >> 8) & H) | (sum >> 16));
  cpu.setPair(pair, sum & 0xffff);
}

export function adcHl(cpu: CpuZ80, value: number): void {
  const before = cpu.pair(HR);
  const sum = before + value + (cpu.bytes[F]! & C);
  cpu.wz = (before + 1) & 0xffff;
  cpu.setF(
    ((sum >> 8) & (S | XY)) |
      ((sum & 0xffff) === 0 ? Z : 0) |
      (((before ^ value ^ sum) >> 8) & H) |
      ((~(before ^ value) & (before ^ sum) & 0x8000) >> 13) |
      (sum >> 16),
  );
  cpu.setPair(HR, sum & 0xffff);
}

export function sbcHl(cpu: CpuZ80, value: number): void {
  const before = cpu.pair(HR);
  const result = before - value - (cpu.bytes[F]! & C);
  cpu.wz = (before + 1) & 0xffff;
  cpu.setF(
    ((result >> 8) & (S | XY)) |
      ((result & 0xffff) === 0 ? Z : 0) |
      (((before ^ value ^ result) >> 8) & H) |
      (((before ^ value) & (before ^ result) & 0x8000) >> 13) |
      ((result >> 16) & C) |
      N,
  );
  cpu.setPair(HR, result & 0xffff);
}

function shifted(cpu: CpuZ80, result: number, carry: number): number {
  cpu.setF(SZXYP[result]! | carry);
  return result;
}

export const rlc = (cpu: CpuZ80, value: number): number =>
  shifted(cpu, ((value << 1) & 0xff) | (value >> 7), value >> 7);
export const rrc = (cpu: CpuZ80, value: number): number =>
  shifted(cpu, ((value << 7) & 0xff) | (value >> 1), value & C);
export const rl = (cpu: CpuZ80, value: number): number =>
  shifted(cpu, ((value << 1) & 0xff) | (cpu.bytes[F]! & C), value >> 7);
export const rr = (cpu: CpuZ80, value: number): number =>
  shifted(cpu, ((cpu.bytes[F]! & C) << 7) | (value >> 1), value & C);
export const sla = (cpu: CpuZ80, value: number): number => shifted(cpu, (value << 1) & 0xff, value >> 7);
export const sra = (cpu: CpuZ80, value: number): number => shifted(cpu, (value & 0x80) | (value >> 1), value & C);
/** Undocumented: shifts a one in. */
export const sll = (cpu: CpuZ80, value: number): number => shifted(cpu, ((value << 1) & 0xff) | 1, value >> 7);
export const srl = (cpu: CpuZ80, value: number): number => shifted(cpu, value >> 1, value & C);

/** RLCA and its like: S, Z and P stay. */
export function rotateA(cpu: CpuZ80, result: number, carry: number): void {
  cpu.setF((cpu.bytes[F]! & (S | Z | P)) | (result & XY) | carry);
  cpu.bytes[A] = result;
}

/** `shown` gives X and Y: the register itself, or the upper byte of the internal address register for memory. */
export function bit(cpu: CpuZ80, value: number, mask: number, shown: number): void {
  const found = value & mask;
  cpu.setF((cpu.bytes[F]! & C) | H | (shown & XY) | (found & S) | (found === 0 ? Z | P : 0));
}

export function daa(cpu: CpuZ80): void {
  const a = cpu.bytes[A]!;
  const f = cpu.bytes[F]!;
  let correction = 0;
  let carry = f & C;
  if (f & H || (a & 0x0f) > 9) correction = 0x06;
  if (carry || a > 0x99) {
    correction |= 0x60;
    carry = C;
  }
  const result = (f & N ? a - correction : a + correction) & 0xff;
  cpu.bytes[A] = result;
  cpu.setF(SZXYP[result]! | ((a ^ result) & H) | (f & N) | carry);
}

export function cpl(cpu: CpuZ80): void {
  const result = cpu.bytes[A]! ^ 0xff;
  cpu.bytes[A] = result;
  cpu.setF((cpu.bytes[F]! & (S | Z | P | C)) | H | N | (result & XY));
}

/** SCF and CCF: X and Y from A, and from F too where the instruction before left F alone. */
export function setCarry(cpu: CpuZ80, carry: number, half: number): void {
  const f = cpu.bytes[F]!;
  cpu.setF((f & (S | Z | P)) | (((cpu.flagsBefore ^ f) | cpu.bytes[A]!) & (X | Y)) | carry | half);
}

export function neg(cpu: CpuZ80): void {
  const value = cpu.bytes[A]!;
  cpu.bytes[A] = 0;
  sub(cpu, value, 0);
}

/** RLD and RRD: the digits of A and (HL) turn. */
export function digits(cpu: CpuZ80, inA: number, inMemory: number): void {
  const at = cpu.pair(HR);
  cpu.bus.write(at, inMemory & 0xff);
  cpu.bytes[A] = (cpu.bytes[A]! & 0xf0) | (inA & 0x0f);
  cpu.wz = (at + 1) & 0xffff;
  cpu.setF((cpu.bytes[F]! & C) | SZXYP[cpu.bytes[A]!]!);
}

/** After IN r,(C): all but C by the value. */
export function tested(cpu: CpuZ80, value: number): number {
  cpu.setF((cpu.bytes[F]! & C) | SZXYP[value]!);
  return value;
}
