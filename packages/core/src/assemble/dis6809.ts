import { hexByte, hexWord, type Reader, signed8 } from "./dis-kit.ts";
import { type Row, readTable } from "./table.ts";
import { INSTRUCTIONS_6809, LIST_REGISTERS_6809, PAIR_REGISTERS_6809 } from "./tables/6809.ts";

const BY_OPCODE = new Map<number, { mnemonic: string; mode: string; size: number }>();
for (const [mnemonic, rows] of readTable<string>(INSTRUCTIONS_6809) as ReadonlyMap<string, ReadonlyMap<string, Row>>)
  for (const [mode, { opcode }] of rows) {
    const key = opcode.reduce((value, each) => (value << 8) | each, 0);
    // Of two names for one instruction (ASL and LSL, BHS and BCC) the first is shown.
    if (!BY_OPCODE.has(key)) BY_OPCODE.set(key, { mnemonic, mode, size: opcode.length });
  }

const PAIRS = new Map<number, string>();
for (const [name, number] of Object.entries(PAIR_REGISTERS_6809)) if (!PAIRS.has(number)) PAIRS.set(number, name);

/** Registers of a list in the order in which they are pushed last to first; `own` is the stack's pointer. */
function listed(bits: number, own: string): string {
  const names: string[] = [];
  for (let bit = 0; bit < 8; bit++)
    if (bits & (1 << bit))
      names.push(
        bit === 6
          ? own === "S"
            ? "U"
            : "S"
          : Object.entries(LIST_REGISTERS_6809).find(([, each]) => each === 1 << bit)![0],
      );
  return names.length > 0 ? names.join(",") : "#0";
}

const signed16 = (value: number): number => (value << 16) >> 16;
/** The size that the assembler would not choose by itself is asked for. */
const small = (value: number): boolean => value >= -128 && value <= 127;

/** The operand that a postbyte at `byte(at)` begins, and the bytes behind it. */
function indexed(
  byte: (index: number) => number,
  at: number,
  address: number,
): { text: string; more: number } | undefined {
  const post = byte(at);
  const register = "XYUS"[(post >> 5) & 3]!;
  if (post < 0x80) return { text: `${((post & 0x1f) << 27) >> 27},${register}`, more: 0 };
  const indirect = (post & 0x10) !== 0;
  const wrapped = (text: string, more = 0) => ({ text: indirect ? `[${text}]` : text, more });
  const n8 = signed8(byte(at + 1));
  const n16 = signed16((byte(at + 1) << 8) | byte(at + 2));
  switch (post & 0x0f) {
    case 0x0:
      return indirect ? undefined : { text: `,${register}+`, more: 0 };
    case 0x1:
      return wrapped(`,${register}++`);
    case 0x2:
      return indirect ? undefined : { text: `,-${register}`, more: 0 };
    case 0x3:
      return wrapped(`,--${register}`);
    case 0x4:
      return wrapped(`,${register}`);
    case 0x5:
      return wrapped(`B,${register}`);
    case 0x6:
      return wrapped(`A,${register}`);
    case 0x8:
      return wrapped(`${n8 === 0 || (!indirect && n8 >= -16 && n8 <= 15) ? "<" : ""}${n8},${register}`, 1);
    case 0x9:
      return wrapped(`${small(n16) ? ">" : ""}${n16},${register}`, 2);
    case 0xb:
      return wrapped(`D,${register}`);
    case 0xc:
      return (post & 0x60) === 0 ? wrapped(`${hexWord(address + at + 2 + n8)},PCR`, 1) : undefined;
    case 0xd:
      return (post & 0x60) === 0
        ? wrapped(`${small(n16 + 1) ? ">" : ""}${hexWord(address + at + 3 + n16)},PCR`, 2)
        : undefined;
    case 0xf:
      return post === 0x9f ? { text: `[${hexWord(n16)}]`, more: 2 } : undefined;
    default:
      return undefined;
  }
}

export const read6809: Reader = (byte, address) => {
  const first = byte(0);
  const found = BY_OPCODE.get(first === 0x10 || first === 0x11 ? (first << 8) | byte(1) : first);
  if (!found) return undefined;
  const { mnemonic, mode, size } = found;
  const n8 = byte(size);
  const n16 = (n8 << 8) | byte(size + 1);
  const whole = (operand: string, more: number) => ({ text: `${mnemonic} ${operand}`, length: size + more });
  switch (mode) {
    case "inh":
      return { text: mnemonic, length: size };
    case "imm8":
      return whole(`#${hexByte(n8)}`, 1);
    case "imm16":
      return whole(`#${hexWord(n16)}`, 2);
    case "dir":
      return whole(hexByte(n8), 1);
    case "ext":
      return whole(`${n16 < 0x100 ? ">" : ""}${hexWord(n16)}`, 2);
    case "rel8":
      return whole(hexWord(address + size + 1 + signed8(n8)), 1);
    case "rel16":
      return whole(hexWord(address + size + 2 + n16), 2);
    case "pair": {
      const [from, to] = [PAIRS.get(n8 >> 4), PAIRS.get(n8 & 15)];
      return from && to && !((n8 ^ (n8 >> 4)) & 8) ? whole(`${from},${to}`, 1) : undefined;
    }
    case "push":
      return whole(listed(n8, mnemonic.at(-1)!), 1);
    default: {
      const operand = indexed(byte, size, address);
      return operand && whole(operand.text, 1 + operand.more);
    }
  }
};
