import { describe, expect, it } from "vitest";
import { assemble } from "./index.ts";
import { FORMS_Z80 } from "./tableZ80.ts";

const line = (text: string) => {
  const { listing, errors } = assemble(` cpu z80\n org 1000h\n ${text}`);
  expect(errors).toEqual([]);
  const { bytes, cycles } = listing[2]!;
  return { bytes: Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join(" "), cycles };
};
const complaint = (text: string): string => {
  const [error] = assemble(` cpu z80\n org 1000h\n ${text}`).errors;
  return `${error?.column} ${error?.sentence}`;
};

describe("Z80 instructions", () => {
  // Z80 CPU user manual UM0080, from memory; every form is also held against two assemblers in checks/assemble.
  it.each([
    ["ld a,12h", "3e 12", 7, 7],
    ["ld b,c", "41", 4, 4],
    ["ld a,(ix+5)", "dd 7e 05", 19, 19],
    ["ld (iy-2),12h", "fd 36 fe 12", 19, 19],
    ["ld b,(ix)", "dd 46 00", 19, 19],
    ["ld (2000h),a", "32 00 20", 13, 13],
    ["ld hl,(2000h)", "2a 00 20", 16, 16],
    ["ld bc,(2000h)", "ed 4b 00 20", 20, 20],
    ["ld a,(2)+1", "3e 03", 7, 7],
    ["ld a,'x'", "3e 78", 7, 7],
    ["ex af,af'", "08", 4, 4],
    ["jp (iy)", "fd e9", 8, 8],
    ["jp m,1234h", "fa 34 12", 10, 10],
    ["jr c,$", "38 fe", 7, 12],
    ["djnz $+2", "10 00", 8, 13],
    ["call nz,5", "c4 05 00", 10, 17],
    ["ret z", "c8", 5, 11],
    ["rst 38h", "ff", 11, 11],
    ["bit 7,(iy+3)", "fd cb 03 7e", 20, 20],
    ["set 0,a", "cb c7", 8, 8],
    ["im 2", "ed 5e", 8, 8],
    ["out (c),e", "ed 59", 12, 12],
    ["in a,(10h)", "db 10", 11, 11],
    ["ldir", "ed b0", 16, 21],
  ])("%s is %s in %i to %i T states", (text, bytes, least, most) => {
    expect(line(text)).toEqual({ bytes, cycles: { least, most } });
  });

  it("take a label that bears a register's name where no register can stand", () => {
    expect(line("ld a,m\nm equ 7").bytes).toBe("3e 07");
  });

  it.each([
    ["ld (hl),(hl)", "5 LD has no form LD (HL),(HL)"],
    ["add hl,ix", "6 ADD has no form ADD HL,IX"],
    ["push", "2 PUSH needs an operand"],
    ["ld a,b,c", "5 LD has no form LD A,B,C"],
    ["bit 8,a", "6 8 does not fit a bit number"],
    ["rst 3", "6 RST does not reach 3"],
    ["im 3", "5 3 does not fit an interrupt mode"],
    ["ld a,(ix+200)", "10 200 does not fit a signed byte"],
    ["jr $+200", "5 The branch is 198 bytes from here, and it reaches -128 to 127"],
    ["ld a,(hl", "10 The line ends here"],
  ])("refuse %s", (text, sentence) => {
    expect(complaint(text)).toBe(sentence);
  });

  it("are told which forms there are", () => {
    const [error] = assemble(" cpu z80\n ex hl,de").errors;
    expect(error!.expected).toBe("EX DE,HL or EX AF,AF' or EX (SP),HL or EX (SP),IX or EX (SP),IY");
  });
});

it("charges an indexed form its like with (HL) and the twelve T states of prefix, displacement and sum", () => {
  // UM0080: 4 for the prefix's fetch, 3 for the displacement, 5 for the sum; the three that overlap the sum are named.
  const like = new Map(FORMS_Z80.map((form) => [`${form.mnemonic} ${form.operands.join()}`, form]));
  const overlapping = new Set(["LD (IX+d),n", "LD (IY+d),n"]);
  let compared = 0;
  for (const [name, { cycles }] of like) {
    const plain = like.get(name.replace(/\(I[XY]\+d\)/, "(HL)"));
    if (!plain || plain === like.get(name)) continue;
    compared++;
    const bits = plain.bytes[0]!.base === 0xcb;
    // DD CB d: the opcode after the displacement is read while the sum is made, so that 8 are added and not 12.
    const more = overlapping.has(name) ? 9 : bits ? 8 : 12;
    expect([name, cycles.least - plain.cycles.least]).toEqual([name, more]);
  }
  // 15 loads, 8 of arithmetic, INC, DEC, 7 shifts, BIT, SET, RES; each with IX and IY.
  expect(compared).toBe(2 * 35);
});
