// Our 6502 assembler, byte for byte, against ca65 with ld65 (Debian package cc65) and against crasm, on every documented
// instruction and mode. The program is made from our own table's rows; what is checked is what the others make of it.
import { fromSRecord } from "@rouse/core/bytes";
import { describe, expect, it } from "vitest";
import { INSTRUCTIONS_6502 } from "../../packages/core/src/assemble/tables/6502.ts";
import { bytesOf, differences, inFolder, ORIGIN, ours, run, textOf } from "./reference.ts";

const BYTES = [0, 1, 0x12, 0x7f, 0x80, 0xff];
const WORDS = [0x100, 0x1234, 0x80ff, 0xffff];

function operands(mode: string, modes: readonly string[]): string[] {
  const words = (short: string) => (modes.includes(short) ? WORDS : [0x12, ...WORDS]);
  switch (mode) {
    case "imp":
      return [""];
    case "acc":
      return ["", " a"];
    case "imm":
      return BYTES.map((n) => ` #${n}`);
    case "zp":
      return BYTES.map((n) => ` ${n}`);
    case "zpx":
      return BYTES.map((n) => ` ${n},x`);
    case "zpy":
      return BYTES.map((n) => ` ${n},y`);
    case "abs":
      return words("zp").map((n) => ` ${n}`);
    case "abx":
      return words("zpx").map((n) => ` ${n},x`);
    case "aby":
      return words("zpy").map((n) => ` ${n},y`);
    case "ind":
      return [0x12, ...WORDS].map((n) => ` (${n})`);
    case "izx":
      return BYTES.map((n) => ` (${n},x)`);
    case "izy":
      return BYTES.map((n) => ` (${n}),y`);
    case "rel":
      return ["*-126", "*", "*+2", "*+5", "*+129"].map((target) => ` ${target}`);
    default:
      throw new Error(`no operands for mode ${mode}`);
  }
}

const LINES = INSTRUCTIONS_6502.trim()
  .split("\n")
  .flatMap((row) => {
    const [mnemonic, ...fields] = row.trim().split(/\s+/);
    const modes = fields.filter((_, i) => i % 3 === 0);
    return modes.flatMap((mode) => operands(mode, modes).map((operand) => mnemonic!.toLowerCase() + operand));
  });

describe("the 6502 program of every instruction and mode", () => {
  it("holds all 151 documented opcodes", () => {
    expect(new Set(ours("6502", LINES).map((bytes) => bytes[0])).size).toBe(151);
  });

  it("comes out of ca65 and ld65 with the same bytes", () => {
    const files = {
      "a.s": [' .setcpu "6502"', ...LINES.map((line) => `\t${line}`), ""].join("\n"),
      "a.cfg": `MEMORY { M: start=${ORIGIN}, size=$8000, file=%O; }\nSEGMENTS { CODE: load=M, type=rw; }\n`,
    };
    const theirs = inFolder(files, (folder) => {
      run("ca65", "cc65", ["-o", "a.o", "a.s"], folder);
      run("ld65", "cc65", ["-C", "a.cfg", "-o", "a.bin", "a.o"], folder);
      return bytesOf(folder, "a.bin");
    });
    expect(differences(LINES, ours("6502", LINES), theirs)).toEqual([]);
  });

  it("comes out of crasm with the same bytes, by way of its S-records", () => {
    const source = [" cpu 6502", ` * = ${ORIGIN}`, ...LINES.map((line) => `\t${line}`), ""].join("\n");
    const { segments } = inFolder({ "a.asm": source }, (folder) => {
      run("crasm", "crasm", ["-slx", "-o", "a.s19", "a.asm"], folder);
      return fromSRecord(textOf(folder, "a.s19"));
    });
    expect(segments.map(({ address }) => address)).toEqual([ORIGIN]);
    expect(differences(LINES, ours("6502", LINES), segments[0]!.bytes)).toEqual([]);
  });
});
