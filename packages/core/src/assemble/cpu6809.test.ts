import { describe, expect, it } from "vitest";
import { assemble } from "./index.ts";
import { readTable } from "./table.ts";
import { INSTRUCTIONS_6809 } from "./tables/6809.ts";

const line = (text: string) => {
  const { listing, errors } = assemble(` cpu 6809\n org $1000\n ${text}`);
  expect(errors).toEqual([]);
  const { bytes, cycles } = listing[2]!;
  return { bytes: Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join(" "), cycles };
};
const complaint = (text: string): string => {
  const [error] = assemble(` cpu 6809\n org $1000\n ${text}`).errors;
  return `${error?.column} ${error?.sentence}`;
};

describe("6809 instructions", () => {
  // MC6809 data sheet: instruction table and table 2 of the indexed modes, put together by hand.
  it.each([
    ["lda #$12", "86 12", 2],
    ["ldd #$1234", "cc 12 34", 3],
    ["lda $12", "96 12", 4],
    ["lda $1234", "b6 12 34", 5],
    ["lda >$12", "b6 00 12", 5],
    ["ldx <$12", "9e 12", 5],
    ["ldy $1234", "10 be 12 34", 7],
    ["cmpu #1", "11 83 00 01", 5],
    ["lda ,x", "a6 84", 4],
    ["lda 0,y", "a6 a4", 4],
    ["lda 5,y", "a6 25", 5],
    ["lda -16,s", "a6 70", 5],
    ["lda 16,u", "a6 c8 10", 5],
    ["lda $1234,x", "a6 89 12 34", 8],
    ["lda <5,x", "a6 88 05", 5],
    ["lda >5,x", "a6 89 00 05", 8],
    ["ldd ,x++", "ec 81", 8],
    ["lda ,x+", "a6 80", 6],
    ["lda ,-x", "a6 82", 6],
    ["lda ,--s", "a6 e3", 7],
    ["lda a,x", "a6 86", 5],
    ["lda d,x", "a6 8b", 8],
    ["lda [d,y]", "a6 bb", 11],
    ["lda [,x]", "a6 94", 7],
    ["lda [5,x]", "a6 98 05", 8],
    ["lda [$1234,x]", "a6 99 12 34", 11],
    ["lda [,y++]", "a6 b1", 10],
    ["jmp [$fffe]", "6e 9f ff fe", 8],
    ["leax *+5,pcr", "30 8c 02", 5],
    ["leax $2000,pcr", "30 8d 0f fc", 9],
    ["leax >*,pcr", "30 8d ff fc", 9],
    ["lda [*,pcr]", "a6 9c fd", 8],
    ["bra *", "20 fe", 3],
    ["lbra *", "16 ff fd", 5],
    ["bsr *+2", "8d 00", 7],
    ["pshs cc,a,b,dp,x,y,u,pc", "34 ff", 17],
    ["pshs d", "34 06", 7],
    ["pulu s,pc", "37 c0", 9],
    ["tfr a,dp", "1f 8b", 6],
    ["exg x,y", "1e 12", 8],
    ["swi2", "10 3f", 20],
  ])("%s is %s in %i cycles", (text, bytes, cycles) => {
    expect(line(text)).toEqual({ bytes, cycles: { least: cycles, most: cycles } });
  });

  it("give a long branch 5 cycles, 6 if taken", () => {
    expect(line("lbeq *+4")).toEqual({ bytes: "10 27 00 00", cycles: { least: 5, most: 6 } });
  });

  it.each([
    ["tfr a,x", "8 A and X differ in size"],
    ["pshs s", "7 PSHS cannot move its own pointer S"],
    ["pshs a,d", "9 D is in the list already"],
    ["pshs", "6 The line ends here"],
    ["lda [,x+]", "8 There is no indirect step by one"],
    ["lda 5,x++", "8 An operand that steps its register has no offset"],
    ["lda 5,z", "8 `z` is not allowed here"],
    ["lda [5,x", "10 The line ends here"],
    ["sta #5", "6 STA has no immediate form"],
    ["leax $1234", "7 LEAX has indexed forms only"],
    ["lda", "2 LDA has no form without an operand"],
    ["rts 5", "6 `5` is not allowed here"],
    ["bra *+200", "6 The branch is 198 bytes from here, and it reaches -128 to 127"],
    ["lda <$1234", "7 The address is outside the direct page 0"],
    ["lda <200,x", "7 200 does not fit a signed byte"],
    ["leax <$2000,pcr", "8 The branch is 4093 bytes from here, and it reaches -128 to 127"],
  ])("refuse %s", (text, sentence) => {
    expect(complaint(text)).toBe(sentence);
  });
});

describe("the 6809 table", () => {
  const table = readTable<string>(INSTRUCTIONS_6809);
  const entries = [...table].map(([mnemonic, rows]) => ({ mnemonic, rows }));

  it("keeps the data sheet's rule between modes: extended is one cycle more than direct, indexed is as direct", () => {
    const memory = entries.filter(({ rows }) => rows.has("dir"));
    // 13 that change memory or jump, 11 each for A and B, 17 of 16 bits, JSR.
    expect(memory).toHaveLength(53);
    for (const { mnemonic, rows } of memory) {
      const [direct, indexed, extended] = ["dir", "idx", "ext"].map((mode) => rows.get(mode)!);
      expect([mnemonic, extended!.cycles.least - direct!.cycles.least]).toEqual([mnemonic, 1]);
      expect([mnemonic, indexed!.cycles.least]).toEqual([mnemonic, direct!.cycles.least]);
      const [d, i, e] = [direct, indexed, extended].map((row) => row!.opcode.at(-1)!);
      expect([mnemonic, i! - d!, e! - i!]).toEqual([mnemonic, d! < 0x10 ? 0x60 : 0x10, 0x10]);
    }
  });

  it("charges a prefixed opcode one cycle more than its like on the first page", () => {
    const like: [string, string][] = [
      ["CMPD", "SUBD"],
      ["CMPY", "CMPX"],
      ["CMPU", "CMPX"],
      ["CMPS", "CMPX"],
      ["LDY", "LDX"],
      ["LDS", "LDU"],
    ];
    for (const [prefixed, plain] of like)
      for (const [mode, { cycles }] of table.get(prefixed)!)
        expect([prefixed, mode, cycles.least]).toEqual([prefixed, mode, table.get(plain)!.get(mode)!.cycles.least + 1]);
  });
});
