import type { CpuZ80 } from "./cpu.ts";
import { AFTER_DEC, AFTER_INC, CARRIES, HR, SZXY, SZXYP } from "./flags.ts";

// Results with their flags: Z80 CPU user manual; X and Y by common practice. The masks are written
// out, in the order SZYHXPNC: this code runs for most instructions, and a bundler turns a name into a variable that is looked
// up each time.

export function add(cpu: CpuZ80, value: number, carry: number): void {
  const { a } = cpu;
  const sum = a + value + carry;
  cpu.setF(SZXY[sum & 0xff]! | CARRIES[a ^ value ^ sum]!);
  cpu.a = sum;
}

export function sub(cpu: CpuZ80, value: number, carry: number): void {
  const { a } = cpu;
  const result = a - value - carry;
  cpu.setF(SZXY[result & 0xff]! | CARRIES[(a ^ value ^ result) & 0x1ff]! | 0x02);
  cpu.a = result;
}

/** X and Y come from the operand here. */
export function cp(cpu: CpuZ80, value: number): void {
  const { a } = cpu;
  const result = a - value;
  cpu.setF((SZXY[result & 0xff]! & 0xc0) | (value & 0x28) | CARRIES[(a ^ value ^ result) & 0x1ff]! | 0x02);
}

export function and(cpu: CpuZ80, value: number): void {
  const result = cpu.a & value;
  cpu.a = result;
  cpu.setF(SZXYP[result]! | 0x10);
}

export function xor(cpu: CpuZ80, value: number): void {
  const result = cpu.a ^ value;
  cpu.a = result;
  cpu.setF(SZXYP[result]!);
}

export function or(cpu: CpuZ80, value: number): void {
  const result = cpu.a | value;
  cpu.a = result;
  cpu.setF(SZXYP[result]!);
}

export function inc(cpu: CpuZ80, value: number): number {
  cpu.setF((cpu.f & 0x01) | AFTER_INC[value]!);
  return (value + 1) & 0xff;
}

export function dec(cpu: CpuZ80, value: number): number {
  cpu.setF((cpu.f & 0x01) | AFTER_DEC[value]!);
  return (value - 1) & 0xff;
}

/** HL, IX or IY (`pair`): S, Z and P stay. */
export function addPair(cpu: CpuZ80, pair: number, value: number): void {
  const before = cpu.pair(pair);
  const sum = before + value;
  cpu.wz = (before + 1) & 0xffff;
  cpu.setF((cpu.f & 0xc4) | ((sum >> 8) & 0x28) | (((before ^ value ^ sum) >> 8) & 0x10) | (sum >> 16));
  cpu.setPair(pair, sum & 0xffff);
}

export function adcHl(cpu: CpuZ80, value: number): void {
  const before = cpu.hl;
  const sum = before + value + (cpu.f & 0x01);
  cpu.wz = (before + 1) & 0xffff;
  cpu.setF(
    ((sum >> 8) & 0xa8) |
      ((sum & 0xffff) === 0 ? 0x40 : 0) |
      (((before ^ value ^ sum) >> 8) & 0x10) |
      ((~(before ^ value) & (before ^ sum) & 0x8000) >> 13) |
      (sum >> 16),
  );
  cpu.setPair(HR, sum & 0xffff);
}

export function sbcHl(cpu: CpuZ80, value: number): void {
  const before = cpu.hl;
  const result = before - value - (cpu.f & 0x01);
  cpu.wz = (before + 1) & 0xffff;
  cpu.setF(
    ((result >> 8) & 0xa8) |
      ((result & 0xffff) === 0 ? 0x40 : 0) |
      (((before ^ value ^ result) >> 8) & 0x10) |
      (((before ^ value) & (before ^ result) & 0x8000) >> 13) |
      ((result >> 16) & 0x01) |
      0x02,
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
  shifted(cpu, ((value << 7) & 0xff) | (value >> 1), value & 0x01);
export const rl = (cpu: CpuZ80, value: number): number =>
  shifted(cpu, ((value << 1) & 0xff) | (cpu.f & 0x01), value >> 7);
export const rr = (cpu: CpuZ80, value: number): number =>
  shifted(cpu, ((cpu.f & 0x01) << 7) | (value >> 1), value & 0x01);
export const sla = (cpu: CpuZ80, value: number): number => shifted(cpu, (value << 1) & 0xff, value >> 7);
export const sra = (cpu: CpuZ80, value: number): number => shifted(cpu, (value & 0x80) | (value >> 1), value & 0x01);
/** Undocumented: shifts a one in. */
export const sll = (cpu: CpuZ80, value: number): number => shifted(cpu, ((value << 1) & 0xff) | 1, value >> 7);
export const srl = (cpu: CpuZ80, value: number): number => shifted(cpu, value >> 1, value & 0x01);

/** RLCA and its like: S, Z and P stay. */
export function rotateA(cpu: CpuZ80, result: number, carry: number): void {
  cpu.setF((cpu.f & 0xc4) | (result & 0x28) | carry);
  cpu.a = result;
}

/** `shown` gives X and Y: the register itself, or the upper byte of the internal address register for memory. */
export function bit(cpu: CpuZ80, value: number, mask: number, shown: number): void {
  const found = value & mask;
  cpu.setF((cpu.f & 0x01) | 0x10 | (shown & 0x28) | (found & 0x80) | (found === 0 ? 0x44 : 0));
}

export function daa(cpu: CpuZ80): void {
  const a = cpu.a;
  const f = cpu.f;
  let correction = 0;
  let carry = f & 0x01;
  if (f & 0x10 || (a & 0x0f) > 9) correction = 0x06;
  if (carry || a > 0x99) {
    correction |= 0x60;
    carry = 0x01;
  }
  const result = (f & 0x02 ? a - correction : a + correction) & 0xff;
  cpu.a = result;
  cpu.setF(SZXYP[result]! | ((a ^ result) & 0x10) | (f & 0x02) | carry);
}

export function cpl(cpu: CpuZ80): void {
  const result = cpu.a ^ 0xff;
  cpu.a = result;
  cpu.setF((cpu.f & 0xc5) | 0x10 | 0x02 | (result & 0x28));
}

/** SCF and CCF: X and Y from A, and from F too where the instruction before left F alone. */
export function setCarry(cpu: CpuZ80, carry: number, half: number): void {
  const f = cpu.f;
  cpu.setF((f & 0xc4) | (((cpu.flagsBefore ^ f) | cpu.a) & 0x28) | carry | half);
}

export function neg(cpu: CpuZ80): void {
  const value = cpu.a;
  cpu.a = 0;
  sub(cpu, value, 0);
}

/** RLD and RRD: the digits of A and (HL) turn. */
export function digits(cpu: CpuZ80, inA: number, inMemory: number): void {
  const at = cpu.hl;
  cpu.bus.write(at, inMemory & 0xff);
  cpu.a = (cpu.a & 0xf0) | (inA & 0x0f);
  cpu.wz = (at + 1) & 0xffff;
  cpu.setF((cpu.f & 0x01) | SZXYP[cpu.a]!);
}

/** After IN r,(C): all but C by the value. */
export function tested(cpu: CpuZ80, value: number): number {
  cpu.setF((cpu.f & 0x01) | SZXYP[value]!);
  return value;
}
