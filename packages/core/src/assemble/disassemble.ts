import { hexByte, type Reader } from "./dis-kit.ts";
import { read6502 } from "./dis6502.ts";
import { read6809 } from "./dis6809.ts";
import { readZ80 } from "./disZ80.ts";
import type { CpuName } from "./types.ts";

/** One instruction as it lies in memory. */
export interface Disassembled {
  address: number;
  bytes: readonly number[];
  /** As our assembler takes it; `fcb` or `db` with the first byte where it is no documented instruction. */
  text: string;
}

const READERS: Readonly<Record<CpuName, Reader>> = { "6502": read6502, "6809": read6809, Z80: readZ80 };

/** The instruction at `address`; `read` gives memory's bytes. Knows neither data from code nor what DP holds. */
export function disassemble(cpu: CpuName, read: (address: number) => number, address: number): Disassembled {
  const byte = (index: number) => read((address + index) & 0xffff) & 0xff;
  const found = READERS[cpu](byte, address) ?? {
    text: `${cpu === "Z80" ? "db" : "fcb"} ${hexByte(byte(0))}`,
    length: 1,
  };
  return { address, text: found.text, bytes: Array.from({ length: found.length }, (_, index) => byte(index)) };
}
