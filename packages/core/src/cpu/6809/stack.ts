import type { Cpu6809 } from "./cpu.ts";
import { E } from "./flags.ts";

/** All registers, in the bits of a push or pull list; bit 6 is the other stack pointer. */
export const ALL = 0xff;
const PC = 0x80;
const OTHER = 0x40;
const Y = 0x20;
const X = 0x10;
const DP = 0x08;
const B = 0x04;
const A = 0x02;
const CC = 0x01;
/** The short frame of FIRQ. */
export const PC_AND_CC = PC | CC;

function down8(cpu: Cpu6809, pointer: number, value: number): number {
  const at = (pointer - 1) & 0xffff;
  cpu.bus.write(at, value);
  return at;
}

const down16 = (cpu: Cpu6809, pointer: number, value: number): number =>
  down8(cpu, down8(cpu, pointer, value & 0xff), value >> 8);

/** Pushes the listed registers below `pointer`, the program counter first. Returns the new pointer. */
export function push(cpu: Cpu6809, list: number, pointer: number, other: number): number {
  let at = pointer;
  if (list & PC) at = down16(cpu, at, cpu.pc);
  if (list & OTHER) at = down16(cpu, at, other);
  if (list & Y) at = down16(cpu, at, cpu.y);
  if (list & X) at = down16(cpu, at, cpu.x);
  if (list & DP) at = down8(cpu, at, cpu.dp);
  if (list & B) at = down8(cpu, at, cpu.b);
  if (list & A) at = down8(cpu, at, cpu.a);
  if (list & CC) at = down8(cpu, at, cpu.cc);
  return at;
}

const up16 = (cpu: Cpu6809, pointer: number): number =>
  (cpu.bus.read(pointer) << 8) | cpu.bus.read((pointer + 1) & 0xffff);

/** Pulls the listed registers but the other stack pointer from S; that one is returned, or −1 where it isn't listed. */
function pull(cpu: Cpu6809, list: number, stack: "s" | "u"): number {
  let at = cpu[stack];
  let other = -1;
  if (list & CC) cpu.cc = cpu.bus.read(at++);
  if (list & A) cpu.a = cpu.bus.read(at++ & 0xffff);
  if (list & B) cpu.b = cpu.bus.read(at++ & 0xffff);
  if (list & DP) cpu.dp = cpu.bus.read(at++ & 0xffff);
  if (list & X) {
    cpu.x = up16(cpu, at & 0xffff);
    at += 2;
  }
  if (list & Y) {
    cpu.y = up16(cpu, at & 0xffff);
    at += 2;
  }
  if (list & OTHER) {
    other = up16(cpu, at & 0xffff);
    at += 2;
  }
  if (list & PC) {
    cpu.pc = up16(cpu, at & 0xffff);
    at += 2;
  }
  cpu.bus.left -= at - cpu[stack];
  cpu[stack] = at & 0xffff;
  return other;
}

export function pushS(cpu: Cpu6809, list: number): void {
  const before = cpu.s;
  cpu.s = push(cpu, list, cpu.s, cpu.u);
  cpu.bus.left -= (before - cpu.s) & 0xffff;
}

export function pushU(cpu: Cpu6809, list: number): void {
  const before = cpu.u;
  cpu.u = push(cpu, list, cpu.u, cpu.s);
  cpu.bus.left -= (before - cpu.u) & 0xffff;
}

export function pullS(cpu: Cpu6809, list: number): void {
  const u = pull(cpu, list, "s");
  if (u >= 0) cpu.u = u;
}

export function pullU(cpu: Cpu6809, list: number): void {
  const s = pull(cpu, list, "u");
  if (s < 0) return;
  cpu.s = s;
  cpu.armNmi();
}

export function pushReturn(cpu: Cpu6809): void {
  cpu.s = down16(cpu, cpu.s, cpu.pc);
}

export function pullReturn(cpu: Cpu6809): void {
  cpu.pc = up16(cpu, cpu.s);
  cpu.s = (cpu.s + 2) & 0xffff;
}

/** RTI: CC says by its E bit how much more was stacked. The base cycles count CC and the return address. */
export function pullFrame(cpu: Cpu6809): void {
  cpu.bus.left += 3;
  pullS(cpu, CC);
  pullS(cpu, cpu.cc & E ? ALL & ~CC : PC);
}
