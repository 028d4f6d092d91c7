import type { CpuZ80 } from "./cpu.ts";
import { B, C, CR, DR, H, HR, LR, N, P, PARITY, S, SZXY, X, XY, Y, Z } from "./flags.ts";

// The block instructions. Each does one turn; the repeating ones go back to themselves, so that interrupts come between turns.

const REPEAT_CYCLES = 5;

function again(cpu: CpuZ80): void {
  cpu.bus.left -= REPEAT_CYCLES;
  cpu.pc = (cpu.pc - 2) & 0xffff;
  cpu.wz = (cpu.pc + 1) & 0xffff;
  // X and Y show the upper byte of PC while it repeats (common practice).
  cpu.setF((cpu.f & ~XY) | ((cpu.pc >> 8) & XY));
}

/** Bit 3 of A plus the byte moved is X, bit 1 is Y (common practice). */
const oddly = (value: number): number => (value & X) | ((value << 4) & Y);

export function load(cpu: CpuZ80, step: 1 | -1, repeat: boolean): void {
  const from = cpu.hl;
  const to = cpu.pair(DR);
  const value = cpu.bus.read(from);
  cpu.bus.write(to, value);
  cpu.setPair(HR, (from + step) & 0xffff);
  cpu.setPair(DR, (to + step) & 0xffff);
  const left = (cpu.pair(B) - 1) & 0xffff;
  cpu.setPair(B, left);
  cpu.setF((cpu.f & (S | Z | C)) | oddly(value + cpu.a) | (left === 0 ? 0 : P));
  if (repeat && left !== 0) again(cpu);
}

export function compare(cpu: CpuZ80, step: 1 | -1, repeat: boolean): void {
  const at = cpu.hl;
  const a = cpu.a;
  const value = cpu.bus.read(at);
  const result = (a - value) & 0xff;
  const half = (a ^ value ^ result) & H;
  cpu.setPair(HR, (at + step) & 0xffff);
  cpu.wz = (cpu.wz + step) & 0xffff;
  const left = (cpu.pair(B) - 1) & 0xffff;
  cpu.setPair(B, left);
  cpu.setF((cpu.f & C) | (SZXY[result]! & (S | Z)) | half | oddly(result - (half >> 4)) | (left === 0 ? 0 : P) | N);
  if (repeat && left !== 0 && result !== 0) again(cpu);
}

/** Flags by the byte moved and a sum that the part forms on the side (common practice). */
function moved(cpu: CpuZ80, value: number, sum: number): void {
  const b = cpu.bytes[B]!;
  cpu.setF(SZXY[b]! | ((value >> 6) & N) | (sum > 0xff ? H | C : 0) | PARITY[(sum & 7) ^ b]!);
}

export function input(cpu: CpuZ80, step: 1 | -1, repeat: boolean): void {
  const at = cpu.hl;
  const port = cpu.pair(B);
  const value = cpu.bus.input(port);
  cpu.bus.write(at, value);
  cpu.wz = (port + step) & 0xffff;
  cpu.setPair(HR, (at + step) & 0xffff);
  cpu.bytes[B]!--;
  moved(cpu, value, value + ((cpu.bytes[CR]! + step) & 0xff));
  if (repeat && cpu.bytes[B] !== 0) again(cpu);
}

export function output(cpu: CpuZ80, step: 1 | -1, repeat: boolean): void {
  const at = cpu.hl;
  const value = cpu.bus.read(at);
  cpu.bytes[B]!--;
  const port = cpu.pair(B);
  cpu.bus.output(port, value);
  cpu.wz = (port + step) & 0xffff;
  cpu.setPair(HR, (at + step) & 0xffff);
  moved(cpu, value, value + cpu.bytes[LR]!);
  if (repeat && cpu.bytes[B] !== 0) again(cpu);
}
