import type { Cpu6809 } from "./cpu.ts";
import { INDEXED_CYCLES } from "./table.ts";

const INDIRECT = 0x10;
const signed8 = (value: number): number => (value << 24) >> 24;

function base(cpu: Cpu6809, postbyte: number): number {
  switch (postbyte & 0x60) {
    case 0x00:
      return cpu.x;
    case 0x20:
      return cpu.y;
    case 0x40:
      return cpu.u;
    default:
      return cpu.s;
  }
}

/** Moves the postbyte's register and returns what it held before. */
function move(cpu: Cpu6809, postbyte: number, by: number): number {
  const before = base(cpu, postbyte);
  const after = (before + by) & 0xffff;
  switch (postbyte & 0x60) {
    case 0x00:
      cpu.x = after;
      break;
    case 0x20:
      cpu.y = after;
      break;
    case 0x40:
      cpu.u = after;
      break;
    default:
      cpu.s = after;
  }
  return before;
}

/** By the postbyte's low four bits: the address before an indirection, not yet cut to 16 bits. */
function direct(cpu: Cpu6809, postbyte: number): number {
  switch (postbyte & 0x0f) {
    case 0x0:
      return move(cpu, postbyte, 1);
    case 0x1:
      return move(cpu, postbyte, 2);
    case 0x2:
      return move(cpu, postbyte, -1) - 1;
    case 0x3:
      return move(cpu, postbyte, -2) - 2;
    case 0x4:
      return base(cpu, postbyte);
    case 0x5:
      return base(cpu, postbyte) + signed8(cpu.b);
    case 0x6:
      return base(cpu, postbyte) + signed8(cpu.a);
    case 0x8:
      return base(cpu, postbyte) + signed8(cpu.fetch());
    case 0x9:
      return base(cpu, postbyte) + cpu.fetch16();
    case 0xb:
      return base(cpu, postbyte) + ((cpu.a << 8) | cpu.b);
    case 0xc: {
      const offset = signed8(cpu.fetch());
      return cpu.pc + offset;
    }
    case 0xd: {
      const offset = cpu.fetch16();
      return cpu.pc + offset;
    }
    default:
      return cpu.fetch16();
  }
}

/** Fetches an indexed postbyte and what follows; returns the effective address, or −1 for a postbyte without a meaning. */
export function indexed(cpu: Cpu6809): number {
  const postbyte = cpu.fetch();
  const cycles = INDEXED_CYCLES[postbyte]!;
  if (cycles < 0) return -1;
  cpu.bus.left -= cycles;
  if (postbyte < 0x80) return (base(cpu, postbyte) + ((postbyte << 27) >> 27)) & 0xffff;
  const address = direct(cpu, postbyte) & 0xffff;
  return postbyte & INDIRECT ? cpu.read16(address) : address;
}
