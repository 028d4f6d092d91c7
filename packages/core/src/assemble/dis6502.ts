import { hexByte, hexWord, type Reader, signed8 } from "./dis-kit.ts";
import { type Row, readTable } from "./table.ts";
import { INSTRUCTIONS_6502 } from "./tables/6502.ts";

const SHOWN: Readonly<Record<string, (operand: string) => string>> = {
  imp: () => "",
  acc: () => " A",
  imm: (n) => ` #${n}`,
  zp: (n) => ` ${n}`,
  zpx: (n) => ` ${n},X`,
  zpy: (n) => ` ${n},Y`,
  abs: (n) => ` ${n}`,
  abx: (n) => ` ${n},X`,
  aby: (n) => ` ${n},Y`,
  ind: (n) => ` (${n})`,
  izx: (n) => ` (${n},X)`,
  izy: (n) => ` (${n}),Y`,
  rel: (n) => ` ${n}`,
};
const WORDS: ReadonlySet<string> = new Set(["abs", "abx", "aby", "ind"]);

const BY_OPCODE = new Map<number, { mnemonic: string; mode: string }>();
for (const [mnemonic, rows] of readTable<string>(INSTRUCTIONS_6502) as ReadonlyMap<string, ReadonlyMap<string, Row>>)
  for (const [mode, { opcode }] of rows) BY_OPCODE.set(opcode[0]!, { mnemonic, mode });

export const read6502: Reader = (byte, address) => {
  const found = BY_OPCODE.get(byte(0));
  if (!found) return undefined;
  const { mnemonic, mode } = found;
  const shown = SHOWN[mode]!;
  if (mode === "imp" || mode === "acc") return { text: mnemonic + shown(""), length: 1 };
  if (WORDS.has(mode)) return { text: mnemonic + shown(hexWord(byte(1) | (byte(2) << 8))), length: 3 };
  const operand = mode === "rel" ? hexWord(address + 2 + signed8(byte(1))) : hexByte(byte(1));
  return { text: mnemonic + shown(operand), length: 2 };
};
