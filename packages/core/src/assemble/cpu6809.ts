import type { Cpu, Encoded, Instruction, Site } from "./cpu.ts";
import type { Cursor, Expression } from "./expression.ts";
import { branchByte, byteValue, displacement, signed16, wordValue } from "./place.ts";
import { plus, type Row, readTable } from "./table.ts";
import {
  INDEX_REGISTERS_6809,
  INSTRUCTIONS_6809,
  LIST_REGISTERS_6809,
  PAIR_REGISTERS_6809,
  POSTBYTES_6809,
} from "./tables/6809.ts";
import { LineError, problem } from "./types.ts";

type Mode = "inh" | "imm8" | "imm16" | "dir" | "idx" | "ext" | "rel8" | "rel16" | "pair" | "push";
type Rows = ReadonlyMap<Mode, Row>;

const TABLE = readTable<Mode>(INSTRUCTIONS_6809);

export const CPU_6809: Cpu = {
  name: "6809",
  bigEndian: true,
  has: (mnemonic) => TABLE.has(mnemonic),
  read(mnemonic, cursor, column) {
    const rows = TABLE.get(mnemonic)!;
    const instruction = operand(mnemonic, rows, cursor, column);
    cursor.needEnd();
    return instruction;
  },
};

const high = (word: number): number => (word >> 8) & 0xff;
const encoded = (row: Row, bytes: readonly number[], more = 0): Encoded => ({
  bytes: [...row.opcode, ...bytes],
  cycles: more ? plus(row.cycles, more) : row.cycles,
});

function operand(mnemonic: string, rows: Rows, cursor: Cursor, column: number): Instruction {
  const inherent = rows.get("inh");
  if (inherent) {
    const fixed = encoded(inherent, []);
    return () => fixed;
  }
  const relative = rows.get("rel8") ?? rows.get("rel16");
  if (relative) return branch(mnemonic, relative, rows.has("rel8"), cursor.expression());
  const pair = rows.get("pair");
  if (pair) return registerPair(pair, cursor);
  const push = rows.get("push");
  if (push) return registerList(mnemonic, push, cursor);
  if (cursor.is("#")) return immediate(mnemonic, rows, cursor);
  return memory(mnemonic, rows, cursor, column);
}

function branch(mnemonic: string, row: Row, short: boolean, target: Expression): Instruction {
  const length = row.opcode.length + (short ? 1 : 2);
  if (short)
    return (site) =>
      encoded(row, [branchByte(site, target, site.address + length, `L${mnemonic}, which reaches everywhere`)]);
  return (site) => {
    const distance = wordValue(site, target) - (site.address + length);
    return encoded(row, [high(distance), distance & 0xff]);
  };
}

function immediate(mnemonic: string, rows: Rows, cursor: Cursor): Instruction {
  const { column } = cursor.take();
  const byte = rows.get("imm8");
  const word = rows.get("imm16");
  if (!byte && !word) throw wrongMode(mnemonic, rows, column, "no immediate form");
  const value = cursor.expression();
  if (byte) return (site) => encoded(byte, [byteValue(site, value)]);
  return (site) => {
    const bits = wordValue(site, value);
    return encoded(word!, [high(bits), bits & 0xff]);
  };
}

const MODE_NAMES: readonly [Mode, string][] = [
  ["imm8", "#n"],
  ["imm16", "#n"],
  ["dir", "an address"],
  ["idx", "an indexed operand such as `4,X`"],
];

const wrongMode = (mnemonic: string, rows: Rows, column: number, why: string): LineError =>
  new LineError(
    "operand",
    column,
    `${mnemonic} has ${why}`,
    MODE_NAMES.flatMap(([mode, name]) => (rows.has(mode) ? [name] : [])).join(" or "),
  );

function register(
  cursor: Cursor,
  registers: Readonly<Record<string, number>>,
): { name: string; bits: number; column: number } {
  const { column } = cursor.token;
  const name = cursor.word();
  const bits = registers[name];
  if (bits === undefined) cursor.fail(`a register: ${Object.keys(registers).join(" ")}`);
  cursor.take();
  return { name, bits: bits!, column };
}

function registerPair(row: Row, cursor: Cursor): Instruction {
  const from = register(cursor, PAIR_REGISTERS_6809);
  cursor.need(",");
  const to = register(cursor, PAIR_REGISTERS_6809);
  if ((from.bits ^ to.bits) & 8)
    throw new LineError(
      "operand",
      to.column,
      `${from.name} and ${to.name} differ in size`,
      "two registers of the same size",
    );
  const fixed = encoded(row, [(from.bits << 4) | to.bits]);
  return () => fixed;
}

function registerList(mnemonic: string, row: Row, cursor: Cursor): Instruction {
  if (cursor.accept("#")) {
    const value = cursor.expression();
    return (site) => listed(row, byteValue(site, value));
  }
  const own = mnemonic.at(-1)!;
  let bits = 0;
  do {
    const found = register(cursor, LIST_REGISTERS_6809);
    if (found.name === own)
      throw new LineError(
        "operand",
        found.column,
        `${mnemonic} cannot move its own pointer ${own}`,
        own === "S" ? "U" : "S",
      );
    if (bits & found.bits) throw new LineError("operand", found.column, `${found.name} is in the list already`);
    bits |= found.bits;
  } while (cursor.accept(","));
  return () => listed(row, bits);
}

/** One cycle a byte: X, Y, the other stack pointer and PC are two bytes each. */
function listed(row: Row, bits: number): Encoded {
  let size = 0;
  for (let bit = 0; bit < 8; bit++) if (bits & (1 << bit)) size += bit < 4 ? 1 : 2;
  return encoded(row, [bits], size);
}

type Force = "<" | ">" | undefined;

function memory(mnemonic: string, rows: Rows, cursor: Cursor, column: number): Instruction {
  if (cursor.done()) throw wrongMode(mnemonic, rows, column, "no form without an operand");
  const start = cursor.token.column;
  const indirect = cursor.accept("[");
  const force: Force = cursor.accept("<") ? "<" : cursor.accept(">") ? ">" : undefined;
  const accumulator = ["A", "B", "D"].includes(cursor.word()) && cursor.peek().text === "," ? cursor.word() : undefined;
  if (accumulator) cursor.take();
  const offset = accumulator || cursor.is(",") ? undefined : cursor.expression();
  const indexed = cursor.accept(",");
  const row = rows.get("idx")!;
  let instruction: Instruction;
  if (indexed) instruction = indexedOperand(row, cursor, { offset, accumulator, force, indirect });
  else if (indirect) {
    if (force === "<") throw new LineError("operand", start, "An indirect address is always 16 bits", "[address]");
    instruction = (site) => {
      const address = wordValue(site, offset!);
      const { bits, indirect: more } = POSTBYTES_6809.extended;
      return encoded(row, [bits | INDIRECT, high(address), address & 0xff], more);
    };
  } else {
    if (!rows.has("dir")) throw wrongMode(mnemonic, rows, start, "indexed forms only");
    instruction = address(rows.get("dir")!, rows.get("ext")!, offset!, force);
  }
  if (indirect) cursor.need("]");
  return instruction;
}

const INDIRECT = 0x10;

/** Direct where the address lies in the assumed direct page, extended elsewhere; `<` and `>` force one. */
function address(direct: Row, extended: Row, expression: Expression, force: Force): Instruction {
  return (site) => {
    const value = site.evaluate(expression);
    const inPage = value === undefined || high(value) === site.directPage;
    const short = force ? force === "<" : site.size(inPage ? 0 : 1) === 0;
    const word = wordValue(site, expression);
    if (!short) return encoded(extended, [high(word), word & 0xff]);
    if (!inPage && high(word) !== 0)
      site.fail(
        problem(
          "range",
          expression.column,
          `The address is outside the direct page ${site.directPage}`,
          "`>` or setdp",
        ),
      );
    return encoded(direct, [word & 0xff]);
  };
}

interface IndexedParts {
  offset: Expression | undefined;
  accumulator: string | undefined;
  force: Force;
  indirect: boolean;
}

function indexedOperand(row: Row, cursor: Cursor, parts: IndexedParts): Instruction {
  const { offset, accumulator, force, indirect } = parts;
  const bit = indirect ? INDIRECT : 0;
  if (offset && cursor.word() === "PCR") {
    cursor.take();
    return programCounterRelative(row, offset, force, indirect);
  }
  const { column } = cursor.token;
  let minus = "";
  while (minus.length < 2 && cursor.accept("-")) minus += "-";
  const { bits: index } = register(cursor, INDEX_REGISTERS_6809);
  let sign = minus;
  if (!minus) while (sign.length < 2 && cursor.accept("+")) sign += "+";
  if (sign) {
    if (offset || accumulator)
      throw new LineError(
        "operand",
        column,
        "An operand that steps its register has no offset",
        ",X+ ,X++ ,-X or ,--X",
      );
    const form = POSTBYTES_6809[sign as "+" | "++" | "-" | "--"];
    if (indirect && form.indirect === undefined)
      throw new LineError("operand", column, "There is no indirect step by one", "[,X++] or [,--X]");
    return fixedForm(row, form.bits | bit | index, indirect ? form.indirect! : form.cycles);
  }
  const form = accumulator ? POSTBYTES_6809[accumulator as "A" | "B" | "D"] : POSTBYTES_6809.none;
  if (!offset) return fixedForm(row, form.bits | bit | index, indirect ? form.indirect : form.cycles);
  return (site) => offsetForm(row, site, offset, index, force, indirect);
}

function fixedForm(row: Row, postbyte: number, more: number): Instruction {
  const fixed = encoded(row, [postbyte], more);
  return () => fixed;
}

function offsetForm(row: Row, site: Site, offset: Expression, index: number, force: Force, indirect: boolean): Encoded {
  const known = site.evaluate(offset) !== undefined;
  const value = signed16(wordValue(site, offset));
  let size =
    value === 0 || !known ? 0 : value >= -16 && value <= 15 && !indirect ? 1 : value >= -128 && value <= 127 ? 2 : 3;
  size = force === "<" ? 2 : force === ">" ? 3 : site.size(size);
  // A five-bit offset has no indirect form; what grew past "none" takes eight bits there.
  if (size === 1 && indirect) size = 2;
  const bit = indirect ? INDIRECT : 0;
  const { none, five, eight, sixteen } = POSTBYTES_6809;
  if (size === 0) return encoded(row, [none.bits | bit | index], indirect ? none.indirect : none.cycles);
  if (size === 1) return encoded(row, [five.bits | index | (value & 0x1f)], five.cycles);
  if (size === 2) {
    const byte = value >= -128 && value <= 127 ? value & 0xff : displacement(site, offset);
    return encoded(row, [eight.bits | bit | index, byte], indirect ? eight.indirect : eight.cycles);
  }
  return encoded(
    row,
    [sixteen.bits | bit | index, high(value), value & 0xff],
    indirect ? sixteen.indirect : sixteen.cycles,
  );
}

/** `target,PCR`: the distance from the end of the instruction, in one byte where it reaches. */
function programCounterRelative(row: Row, target: Expression, force: Force, indirect: boolean): Instruction {
  const { pcr8, pcr16 } = POSTBYTES_6809;
  const bit = indirect ? INDIRECT : 0;
  return (site) => {
    const next = site.address + row.opcode.length + 2;
    const known = site.evaluate(target) !== undefined;
    const near = signed16(wordValue(site, target) - next);
    const short = force ? force === "<" : site.size(!known || (near >= -128 && near <= 127) ? 0 : 1) === 0;
    if (short) {
      const byte = branchByte(site, target, next, "`>` before the operand");
      return encoded(row, [pcr8.bits | bit, byte], indirect ? pcr8.indirect : pcr8.cycles);
    }
    const far = signed16(near - 1);
    return encoded(row, [pcr16.bits | bit, high(far), far & 0xff], indirect ? pcr16.indirect : pcr16.cycles);
  };
}
