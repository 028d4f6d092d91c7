// Our Z80 assembler, byte for byte, against z80asm and against crasm (Debian packages of the same names), on every
// documented instruction with every register. The program is made from our own table's rows; what is checked is what the
// others make of it.
import { fromIntelHex } from "@rouse/core/bytes";
import { describe, expect, it } from "vitest";
import { FORMS_Z80, type FormZ80 } from "../../packages/core/src/assemble/tableZ80.ts";
import { bytesOf, differences, inFolder, ORIGIN, ours, run, textOf } from "./reference.ts";

/** Values put for each kind of expression. `$` is the address of the instruction. */
const VALUES: Readonly<Record<string, readonly (number | string)[]>> = {
  n: [0, 18, 127, 128, 255],
  nn: [0, 18, 4660, 65535],
  d: ["+0", "+5", "+127", "-1", "-128"],
  e: ["$-126", "$", "$+2", "$+129"],
  b: [0, 1, 2, 3, 4, 5, 6, 7],
  p: [0, 8, 16, 24, 32, 40, 48, 56],
  m: [0, 1, 2],
};

/** Every value of each expression, the others at their second value. */
function lines(form: FormZ80): string[] {
  const write = (values: ReadonlyMap<string, number | string>) => {
    const operands = form.operands.map((operand) =>
      operand.replace(/\+d|[a-z]+/g, (name) => String(values.get(name.replace("+", ""))!)),
    );
    return [form.mnemonic, operands.join(",")].join(" ").trim().toLowerCase();
  };
  const middle = form.fields.map((field) => [field, VALUES[field]![1]!] as const);
  if (!form.fields.length) return [write(new Map())];
  return [
    ...new Set(
      form.fields.flatMap((field) =>
        VALUES[field]!.map((value) => write(new Map([...middle, [field, value] as const]))),
      ),
    ),
  ];
}

/** crasm 1.8 gives CPDR as ED 89; the user manual, and z80asm, say ED B9. */
const CRASM_ERRORS = ["cpdr: ours edb9, theirs ed89"];

const LINES = FORMS_Z80.flatMap(lines);

describe("the Z80 program of every instruction and register", () => {
  it("holds every documented opcode of each prefix", () => {
    const opcodes = new Map<string, Set<number>>();
    for (const bytes of ours("Z80", LINES)) {
      const prefix = [0xcb, 0xdd, 0xed, 0xfd].includes(bytes[0]!) ? bytes[0]!.toString(16) : "";
      const page = prefix && prefix !== "cb" && prefix !== "ed" && bytes[1] === 0xcb ? `${prefix}cb` : prefix;
      const opcode = bytes[page.length === 4 ? 3 : prefix ? 1 : 0]!;
      opcodes.set(page, (opcodes.get(page) ?? new Set()).add(opcode));
    }
    // Plain: 256 less the four prefixes. CB: 256 less the eight of the undocumented shift. ED: 7 + 7 of port and register,
    // 4 + 4 of ADC and SBC, 3 + 3 of the pairs' loads, NEG, RETN, RETI, 3 IM, 4 with I or R, RRD, RLD, 16 block
    // instructions. DD and FD: 8 + 7 + 7 with (IX+d), INC, DEC and LD of it, 4 ADD, 3 loads of 16 bits, INC, DEC, and five of
    // stack and jump. DD CB: 8 bits of BIT, SET, RES, and 7 shifts.
    const counts = Object.fromEntries([...opcodes].map(([page, found]) => [page, found.size]));
    expect(counts).toEqual({ "": 252, cb: 248, ed: 56, dd: 39, fd: 39, ddcb: 31, fdcb: 31 });
  });

  it("comes out of z80asm with the same bytes", () => {
    const source = [`\torg ${ORIGIN}`, ...LINES.map((line) => `\t${line}`), ""].join("\n");
    const theirs = inFolder({ "a.asm": source }, (folder) => {
      run("z80asm", "z80asm", ["-o", "a.bin", "a.asm"], folder);
      return bytesOf(folder, "a.bin");
    });
    expect(differences(LINES, ours("Z80", LINES), theirs)).toEqual([]);
  });

  it("comes out of crasm with the same bytes, by way of its Intel HEX", () => {
    const source = [" cpu z80", ` * = ${ORIGIN}`, ...LINES.map((line) => `\t${line.replace("$", "*")}`), ""].join("\n");
    const { segments } = inFolder({ "a.asm": source }, (folder) => {
      run("crasm", "crasm", ["-slx", "-o", "a.hex", "a.asm"], folder);
      return fromIntelHex(textOf(folder, "a.hex"));
    });
    expect(segments.map(({ address }) => address)).toEqual([ORIGIN]);
    expect(differences(LINES, ours("Z80", LINES), segments[0]!.bytes)).toEqual(CRASM_ERRORS);
  });
});
