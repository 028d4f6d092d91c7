import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { assemble, disassemble } from "./index.ts";
import type { CpuName } from "./types.ts";

/** Any bytes at $4000; what is shown, assembled again, must give them back. */
const shown = (cpu: CpuName, bytes: readonly number[]) =>
  disassemble(cpu, (address) => bytes[address - 0x4000] ?? 0, 0x4000);

describe("disassembling", () => {
  it.each(["6809", "6502", "Z80"] as const)("shows what our assembler turns into the same bytes (%s)", (cpu) => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 0, max: 255 }), { minLength: 6, maxLength: 6 }), (bytes) => {
        const { text, bytes: own } = shown(cpu, bytes);
        const { segments, errors } = assemble(` cpu ${cpu}\n org $4000\n ${text}\n`);
        expect(errors, text).toEqual([]);
        expect([...segments[0]!.bytes], text).toEqual(other(cpu, own) ?? own);
      }),
      { seed: 1, numRuns: 4000 },
    );
  });

  it.each([
    ["6809", [0xa6, 0x85], "LDA B,X"],
    ["6809", [0x34, 0x76], "PSHS A,B,X,Y,U"],
    ["6809", [0x10, 0x8e, 0x12, 0x34], "LDY #$1234"],
    ["6809", [0x26, 0xfe], "BNE $4000"],
    ["6809", [0x01], "fcb $01"],
    ["6502", [0xb1, 0x10], "LDA ($10),Y"],
    ["6502", [0x6c, 0x34, 0x12], "JMP ($1234)"],
    ["Z80", [0xdd, 0xcb, 0xfe, 0x46], "BIT 0,(IX-2)"],
    ["Z80", [0xed, 0xb0], "LDIR"],
    ["Z80", [0x18, 0xfe], "JR $4000"],
  ] as const)("shows %s %j as %s", (cpu, bytes, text) => {
    expect(shown(cpu, bytes)).toEqual({ address: 0x4000, bytes, text });
  });
});

/** Bytes that have a shorter way to be written, which the assembler takes: the 6809's offset of none in five bits; the
    6502's absolute addresses in zero page. */
function other(cpu: CpuName, bytes: readonly number[]): readonly number[] | undefined {
  if (cpu === "6502" && bytes.length === 3 && bytes[2] === 0) {
    const again = assemble(` cpu 6502\n org $4000\n ${shown(cpu, bytes).text}\n`).segments[0]!.bytes;
    return again.length === 2 && again[1] === bytes[1] ? [...again] : undefined;
  }
  if (cpu !== "6809") return undefined;
  const post = bytes.length - 1;
  if (post > 0 && (bytes[post]! & 0x9f) === 0 && /^\S+ 0,[XYUS]$/.test(shown(cpu, bytes).text))
    return [...bytes.slice(0, post), bytes[post]! | 0x84];
  return undefined;
}
