import { describe, expect, it } from "vitest";
import { assemble } from "./index.ts";
import { readTable } from "./table.ts";
import { INSTRUCTIONS_6502 } from "./tables/6502.ts";

const line = (text: string) => {
  const { listing, errors } = assemble(` cpu 6502\n org $1000\n ${text}`);
  expect(errors).toEqual([]);
  const { bytes, cycles } = listing[2]!;
  return { bytes: Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join(" "), cycles };
};
const complaint = (text: string): string => {
  const [error] = assemble(` cpu 6502\n org $1000\n ${text}`).errors;
  return `${error?.column} ${error?.sentence}`;
};

describe("6502 instructions", () => {
  // MCS6500 programming manual, appendix B, from memory; every form is also held against two assemblers in checks/assemble.
  it.each([
    ["lda #$12", "a9 12", 2, 2],
    ["lda $12", "a5 12", 3, 3],
    ["lda $1234", "ad 34 12", 4, 4],
    ["lda $12,x", "b5 12", 4, 4],
    ["lda $12,y", "b9 12 00", 4, 5],
    ["ldx $12,y", "b6 12", 4, 4],
    ["lda ($12),y", "b1 12", 5, 6],
    ["sta ($12),y", "91 12", 6, 6],
    ["lda ($12,x)", "a1 12", 6, 6],
    ["lda ($12)+1", "a5 13", 3, 3],
    ["jmp ($1234)", "6c 34 12", 5, 5],
    ["jmp $12", "4c 12 00", 3, 3],
    ["asl", "0a", 2, 2],
    ["asl a", "0a", 2, 2],
    ["bne *", "d0 fe", 2, 3],
    ["bne *-2", "d0 fc", 2, 4],
    ["bne *+$7f", "d0 7d", 2, 3],
    ["lda #<$1234", "a9 34", 2, 2],
    ["lda #>$1234", "a9 12", 2, 2],
    ["cmp #'A'", "c9 41", 2, 2],
  ])("%s is %s in %i to %i cycles", (text, bytes, least, most) => {
    expect(line(text)).toEqual({ bytes, cycles: { least, most } });
  });

  it.each([
    ["sta #1", "6 STA has no form with this operand"],
    ["lda ($12),x", "12 `x` is not allowed here"],
    ["lda ($1234),y", "7 4660 does not fit a byte"],
    ["stx $1234,y", "6 4660 does not fit a byte"],
    ["lda $12,z", "10 `z` is not allowed here"],
    ["inx 5", "6 INX has no form with this operand"],
    ["lda", "2 LDA has no form with this operand"],
  ])("refuse %s", (text, sentence) => {
    expect(complaint(text)).toBe(sentence);
  });
});

it("has the cycles that follow from the addressing mode", () => {
  // The rules of the bus cycles (shared facts, hardware (e), from memory): loads and arithmetic, stores, read-modify-write.
  const rules: Record<string, Record<string, string>> = {
    read: { imm: "2/2", zp: "3/3", zpx: "4/4", zpy: "4/4", abs: "4/4", abx: "4/5", aby: "4/5", izx: "6/6", izy: "5/6" },
    store: { zp: "3/3", zpx: "4/4", zpy: "4/4", abs: "4/4", abx: "5/5", aby: "5/5", izx: "6/6", izy: "6/6" },
    modify: { acc: "2/2", zp: "5/5", zpx: "6/6", abs: "6/6", abx: "7/7" },
  };
  const kinds: [string, string][] = [
    ["read", "ADC AND BIT CMP CPX CPY EOR LDA LDX LDY ORA SBC"],
    ["store", "STA STX STY"],
    ["modify", "ASL DEC INC LSR ROL ROR"],
  ];
  const table = readTable<string>(INSTRUCTIONS_6502);
  for (const [kind, mnemonics] of kinds)
    for (const mnemonic of mnemonics.split(" "))
      for (const [mode, { cycles }] of table.get(mnemonic)!)
        expect([mnemonic, mode, `${cycles.least}/${cycles.most}`]).toEqual([mnemonic, mode, rules[kind]![mode]]);
});
