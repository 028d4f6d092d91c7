/**
 * Whether a program for the 8080 uses instructions that only the Z80 has, found by following its flow from the first
 * byte. Opcodes: the 8080 and Z80 data sheets.
 */

/** Bytes an 8080 instruction takes; the Z80's prefixes and relative jumps are told apart below. */
const LENGTHS = Uint8Array.from({ length: 256 }, (_, opcode) => {
  // 01, 11, 21, 31: 16-bit immediate; 22, 2A, 32, 3A: direct; C2 … FA: jumps, calls.
  if (opcode < 0x40 && (opcode & 0x0f) === 0x01) return 3;
  if (opcode === 0x22 || opcode === 0x2a || opcode === 0x32 || opcode === 0x3a) return 3;
  if (opcode < 0x40 && (opcode & 0x07) === 0x06) return 2;
  if (opcode >= 0xc0 && ((opcode & 0x07) === 0x02 || (opcode & 0x07) === 0x04)) return 3;
  if (opcode === 0xc3 || opcode === 0xcd) return 3;
  if (opcode >= 0xc0 && (opcode & 0x07) === 0x06) return 2;
  return opcode === 0xd3 || opcode === 0xdb ? 2 : 1;
});

const RELATIVE_JUMPS = new Set([0x10, 0x18, 0x20, 0x28, 0x30, 0x38]);

/** Second bytes after ED that are Z80 instructions: 40–7F less the gaps that matter, and the block instructions. */
const isEd = (second: number): boolean =>
  (second >= 0x40 && second <= 0x7b && (second & 7) <= 3) ||
  [0x44, 0x45, 0x46, 0x47, 0x4d, 0x4f, 0x56, 0x57, 0x5e, 0x5f, 0x67, 0x6f].includes(second) ||
  (second >= 0xa0 && second <= 0xbb && (second & 7) <= 3);

/** Length after DD or FD, or 0 where that is no indexed instruction. */
function indexedLength(second: number): number {
  if (second === 0x21 || second === 0x22 || second === 0x2a) return 4;
  if (second === 0x36 || second === 0xcb) return 4;
  if ([0x09, 0x19, 0x23, 0x29, 0x2b, 0x39, 0xe1, 0xe3, 0xe5, 0xe9, 0xf9].includes(second)) return 2;
  if (second === 0x34 || second === 0x35) return 3;
  const reads = second >= 0x46 && second <= 0xbe && (second & 7) === 6 && second !== 0x76;
  return reads || (second >= 0x70 && second <= 0x77 && second !== 0x76) ? 3 : 0;
}

/** Most bytes that are followed in one program. */
const LONGEST = 0x10000;

interface Flow {
  /** Instructions reached. */
  reached: number;
  /** Offsets in the file of instructions that only the Z80 has. */
  z80: readonly number[];
}

/**
 * Follows a program loaded at `loadAt` from its first byte through jumps, calls and returns. Stops at bytes that are
 * no instruction. Messages that lie after a call may be followed as if they were code, so one hit is weak evidence.
 */
export function followFlow(bytes: Uint8Array, loadAt: number): Flow {
  const seen = new Uint8Array(Math.min(bytes.length, LONGEST));
  const z80: number[] = [];
  const open = [0];
  let reached = 0;
  while (open.length > 0) {
    let at = open.pop()!;
    while (at >= 0 && at < seen.length && seen[at] === 0) {
      seen[at] = 1;
      reached++;
      const opcode = bytes[at]!;
      const second = bytes[at + 1] ?? 0;
      if (RELATIVE_JUMPS.has(opcode)) {
        open.push(at + 2 + ((second << 24) >> 24));
        if (opcode === 0x18) break;
        at += 2;
        continue;
      }
      if (opcode === 0xdd || opcode === 0xfd) {
        const length = indexedLength(second);
        if (length === 0) break;
        z80.push(at);
        if (second === 0xe9) break;
        at += length;
        continue;
      }
      if (opcode === 0xed) {
        if (!isEd(second)) break;
        z80.push(at);
        if (second === 0x45 || second === 0x4d) break;
        // 43 to 7B with low bits 011: 16-bit loads with an address.
        at += second < 0x80 && (second & 7) === 3 ? 4 : 2;
        continue;
      }
      if (opcode === 0xcb || opcode === 0xd9) {
        z80.push(at);
        at += opcode === 0xcb ? 2 : 1;
        continue;
      }
      if (opcode === 0x08) {
        at += 1;
        continue;
      }
      const target = (second | ((bytes[at + 2] ?? 0) << 8)) - loadAt;
      const isCall = opcode === 0xcd || (opcode >= 0xc0 && (opcode & 7) === 4);
      const isJump = opcode === 0xc3 || (opcode >= 0xc0 && (opcode & 7) === 2);
      if (isCall || isJump) open.push(target);
      // JP, RET, JP (HL), HALT: the flow does not go on behind them.
      if (opcode === 0xc3 || opcode === 0xc9 || opcode === 0xe9 || opcode === 0x76) break;
      at += LENGTHS[opcode]!;
    }
  }
  return { reached, z80: z80.sort((a, b) => a - b) };
}
