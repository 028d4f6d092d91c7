import type { Cpu6809 } from "./cpu.ts";
import { INDEXED_CYCLES } from "./table.ts";

const INDIRECT = 0x10;
const signed8 = (value: number): number => (value << 24) >> 24;
/** Of two bytes, the first one lowest, as the upper byte comes first in memory. */
const signed16 = (bytes: number): number => ((bytes << 24) >> 16) | ((bytes >> 8) & 0xff);

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
function direct(cpu: Cpu6809, postbyte: number, offset: number): number {
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
      return base(cpu, postbyte) + signed8(offset);
    case 0x9:
      return base(cpu, postbyte) + signed16(offset);
    case 0xb:
      return base(cpu, postbyte) + cpu.d;
    case 0xc:
      return cpu.pc + signed8(offset);
    case 0xd:
      return cpu.pc + signed16(offset);
    default:
      return signed16(offset);
  }
}

/** Bytes of the offset that follows a postbyte. */
export const OFFSET_BYTES = Uint8Array.from({ length: 256 }, (_, postbyte) => {
  if (postbyte < 0x80 || INDEXED_CYCLES[postbyte]! < 0) return 0;
  const kind = postbyte & 0x0f;
  return kind === 0x8 || kind === 0xc ? 1 : kind === 0x9 || kind === 0xd || kind === 0xf ? 2 : 0;
});

/**
 * The effective address, or −1 for a postbyte without a meaning. `offset` holds the bytes after the postbyte, the first one lowest, and
 * `next` is the address of that one; PC is set behind the instruction.
 */
export function indexed(cpu: Cpu6809, postbyte: number, offset: number, next: number): number {
  const cycles = INDEXED_CYCLES[postbyte]!;
  if (cycles < 0) return -1;
  cpu.bus.left -= cycles;
  if (postbyte < 0x80) {
    cpu.pc = next;
    return (base(cpu, postbyte) + ((postbyte << 27) >> 27)) & 0xffff;
  }
  cpu.pc = (next + OFFSET_BYTES[postbyte]!) & 0xffff;
  const address = direct(cpu, postbyte, offset) & 0xffff;
  return postbyte & INDIRECT ? cpu.read16(address) : address;
}
