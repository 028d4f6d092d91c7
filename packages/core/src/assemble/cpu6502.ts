import type { Cpu, Instruction } from "./cpu.ts";
import type { Cursor, Expression } from "./expression.ts";
import { branchByte, byteValue, wordValue } from "./place.ts";
import { type Row, readTable } from "./table.ts";
import { INSTRUCTIONS_6502 } from "./tables/6502.ts";
import { type Cycles, LineError } from "./types.ts";

type Mode = "imp" | "acc" | "imm" | "zp" | "zpx" | "zpy" | "abs" | "abx" | "aby" | "ind" | "izx" | "izy" | "rel";
type Rows = ReadonlyMap<Mode, Row>;

const TABLE = readTable<Mode>(INSTRUCTIONS_6502);

/** How each mode is written, for error messages. */
const FORMS: readonly [Mode, string][] = [
  ["acc", "A"],
  ["imm", "#n"],
  ["abs", "an address"],
  ["abx", "address,X"],
  ["zpx", "address,X"],
  ["aby", "address,Y"],
  ["zpy", "address,Y"],
  ["ind", "(address)"],
  ["izx", "(address,X)"],
  ["izy", "(address),Y"],
];

export const CPU_6502: Cpu = {
  name: "6502",
  bigEndian: false,
  has: (mnemonic) => TABLE.has(mnemonic),
  read(mnemonic, cursor, column) {
    const rows = TABLE.get(mnemonic)!;
    const start = cursor.done() ? column : cursor.token.column;
    const instruction = operand(rows, cursor);
    if (!instruction) {
      const forms = [...new Set(FORMS.flatMap(([mode, form]) => (rows.has(mode) ? [form] : [])))];
      throw new LineError(
        "operand",
        start,
        `${mnemonic} has no form with this operand`,
        forms.join(" or ") || "no operand",
      );
    }
    cursor.needEnd();
    return instruction;
  },
};

function operand(rows: Rows, cursor: Cursor): Instruction | undefined {
  if (cursor.done()) return fixed(rows.get("imp") ?? rows.get("acc"));
  const relative = rows.get("rel");
  if (relative) {
    const target = cursor.expression();
    const { opcode, cycles } = relative;
    return (site) => ({
      bytes: [...opcode, branchByte(site, target, site.address + 2, "a JMP, or a nearer target")],
      cycles: branchCycles(cycles, site.address + 2, site.evaluate(target)),
    });
  }
  if (cursor.accept("#")) return one(rows.get("imm"), cursor.expression());
  if (cursor.word() === "A" && cursor.peek().kind === "end") {
    cursor.take();
    return fixed(rows.get("acc"));
  }
  if (cursor.is("(") && cursor.spansOperand()) return indirect(rows, cursor);
  const address = cursor.expression();
  if (!cursor.accept(",")) return sized(rows.get("zp"), rows.get("abs"), address);
  const index = cursor.word();
  if (index !== "X" && index !== "Y") cursor.fail("X or Y");
  cursor.take();
  return index === "X"
    ? sized(rows.get("zpx"), rows.get("abx"), address)
    : sized(rows.get("zpy"), rows.get("aby"), address);
}

/** The table's most counts a target in another page than the next instruction; one in the same page takes a cycle less. */
function branchCycles({ least, most }: Cycles, next: number, target: number | undefined): Cycles {
  const crosses = target !== undefined && (next ^ target) & 0xff00;
  return { least, most: crosses ? most : most - 1 };
}

const fixed = (row: Row | undefined): Instruction | undefined => {
  if (!row) return undefined;
  const encoded = { bytes: [...row.opcode], cycles: row.cycles };
  return () => encoded;
};

const one = (row: Row | undefined, value: Expression): Instruction | undefined =>
  row && ((site) => ({ bytes: [...row.opcode, byteValue(site, value)], cycles: row.cycles }));

const two = (row: Row | undefined, value: Expression): Instruction | undefined =>
  row &&
  ((site) => {
    const word = wordValue(site, value);
    return { bytes: [...row.opcode, word & 0xff, word >> 8], cycles: row.cycles };
  });

/** Zero page where the address lies in it, absolute elsewhere or where there is no other form. */
function sized(short: Row | undefined, long: Row | undefined, address: Expression): Instruction | undefined {
  const shortForm = one(short, address);
  const longForm = two(long, address);
  if (!shortForm || !longForm) return shortForm ?? longForm;
  return (site) => {
    const value = site.evaluate(address);
    const needed = value === undefined || (value >= 0 && value <= 0xff) ? 0 : 1;
    return (site.size(needed) === 0 ? shortForm : longForm)(site);
  };
}

function indirect(rows: Rows, cursor: Cursor): Instruction | undefined {
  cursor.need("(");
  const address = cursor.expression();
  if (cursor.accept(",")) {
    if (cursor.word() !== "X") cursor.fail("X");
    cursor.take();
    cursor.need(")");
    return one(rows.get("izx"), address);
  }
  cursor.need(")");
  if (!cursor.accept(",")) return two(rows.get("ind"), address);
  if (cursor.word() !== "Y") cursor.fail("Y");
  cursor.take();
  return one(rows.get("izy"), address);
}
