import { BugError } from "../errors/index.ts";
import type { Cycles } from "./types.ts";

/** A row of an instruction table: the fixed bytes and the base cycles. */
export interface Row {
  opcode: readonly number[];
  cycles: Cycles;
}

/** `4` or `5/6`. */
export function readCycles(text: string): Cycles {
  const [least, most] = text.split("/").map(Number);
  return { least: least!, most: most ?? least! };
}

/** Reads a table of lines `MNEMONIC mode opcode cycles …`. */
export function readTable<Mode extends string>(text: string): ReadonlyMap<string, ReadonlyMap<Mode, Row>> {
  const table = new Map<string, ReadonlyMap<Mode, Row>>();
  for (const line of text.trim().split("\n")) {
    const [mnemonic, ...fields] = line.trim().split(/\s+/);
    if (!mnemonic || table.has(mnemonic) || fields.length % 3 !== 0) throw new BugError(`instruction table: ${line}`);
    const rows = new Map<Mode, Row>();
    for (let i = 0; i < fields.length; i += 3)
      rows.set(fields[i] as Mode, {
        opcode: fields[i + 1]!.match(/../g)!.map((digits) => Number.parseInt(digits, 16)),
        cycles: readCycles(fields[i + 2]!),
      });
    table.set(mnemonic, rows);
  }
  return table;
}

export const plus = ({ least, most }: Cycles, more: number): Cycles => ({ least: least + more, most: most + more });
