import { moduleCrc } from "../bytes/index.ts";
import { asciiCode, type Cursor, type Expression } from "./expression.ts";
import { within } from "./place.ts";
import type { Directive, Placer } from "./placer.ts";
import { LineError, problem } from "./types.ts";

/**
 * Program modules: a header (87 CD, size, offset of the name, type and language, attributes and revision, parity; entry
 * and storage where `entry=` is given), the body, the name, and the 24-bit CRC over it all.
 */

const HEADER = 9;
const PARITY_AT = 8;

/** Keys of the `module` line: least, most, and what holds if it is left out. */
const KEYS: Readonly<Record<string, { most: number; otherwise?: number }>> = {
  type: { most: 15 },
  language: { most: 15, otherwise: 0 },
  attributes: { most: 15, otherwise: 0 },
  revision: { most: 15, otherwise: 0 },
  edition: { most: 255 },
  entry: { most: 0xffff },
  storage: { most: 0xffff },
};

type Fields = Map<string, Expression>;

function fields(cursor: Cursor, allowed: readonly string[]): Fields {
  const found: Fields = new Map();
  while (!cursor.done()) {
    const { kind, text, column } = cursor.token;
    const key = text.toLowerCase();
    if (kind !== "name" || !allowed.includes(key)) cursor.fail(allowed.map((name) => `${name}=`).join(" "));
    if (found.has(key)) throw new LineError("twice", column, `\`${key}\` is given twice`);
    cursor.take();
    cursor.need("=");
    found.set(key, cursor.expression());
    if (!cursor.accept(",")) break;
  }
  cursor.needEnd();
  return found;
}

/** The name's bytes, the last with its high bit set. */
function nameBytes(cursor: Cursor): number[] {
  const { kind, text, column } = cursor.token;
  if (kind !== "string" || !text.length || text.length > 29)
    cursor.fail('the module\'s name of 1 to 29 characters, "name"');
  cursor.take();
  const bytes = Array.from({ length: text.length }, (_, index) => asciiCode(text, index, column));
  bytes[bytes.length - 1]! |= 0x80;
  return bytes;
}

function fieldValue(pass: Placer, found: Fields, key: string): number {
  const { most, otherwise } = KEYS[key]!;
  const expression = found.get(key);
  return expression ? within(pass, expression, 0, most, `\`${key}\``) : (otherwise ?? 0);
}

const word = (value: number): number[] => [(value >> 8) & 0xff, value & 0xff];

export function readModule(cursor: Cursor, column: number): Directive {
  const name = cursor.token.kind === "string" ? nameBytes(cursor) : undefined;
  if (name && !cursor.done()) cursor.need(",");
  const found = fields(
    cursor,
    Object.keys(KEYS).filter((key) => name || key !== "edition"),
  );
  if (!found.has("type"))
    throw new LineError("operand", column, "A module needs its type", "type=1 for a program, 4 for data …");
  if (found.has("storage") && !found.has("entry"))
    throw new LineError(
      "operand",
      found.get("storage")!.column,
      "`storage` stands in the header only after `entry`",
      "entry=",
    );
  return (pass) => {
    const address = pass.here;
    pass.openModule(column);
    const typeAndLanguage = (fieldValue(pass, found, "type") << 4) | fieldValue(pass, found, "language");
    const attributesAndRevision = (fieldValue(pass, found, "attributes") << 4) | fieldValue(pass, found, "revision");
    // Size, offset of the name and parity are known at `endmodule`.
    pass.emit([0x87, 0xcd, 0, 0, 0, 0, typeAndLanguage, attributesAndRevision, 0]);
    const entry = found.get("entry");
    if (entry) {
      const target = pass.evaluate(entry);
      const offset = target === undefined ? 0 : target - address;
      if (offset < 0 || offset > 0xffff)
        pass.fail(problem("range", entry.column, "The entry lies before the module", "a label inside the module"));
      pass.emit([...word(offset), ...word(fieldValue(pass, found, "storage"))]);
    }
    if (name) placeName(pass, name, found, column);
  };
}

export function readModuleName(cursor: Cursor, column: number): Directive {
  const name = nameBytes(cursor);
  if (!cursor.done()) cursor.need(",");
  const found = fields(cursor, ["edition"]);
  return (pass) => placeName(pass, name, found, column);
}

function placeName(pass: Placer, name: number[], found: Fields, column: number): void {
  const { module } = pass;
  if (!module) throw new LineError("structure", column, "This stands outside a module", "module … endmodule");
  if (module.name !== undefined) throw new LineError("twice", column, "The module has its name already");
  module.name = pass.here - module.address;
  pass.emit(name);
  if (found.has("edition")) pass.emit([fieldValue(pass, found, "edition")]);
}

/** Fills in size, name's offset and parity in `bytes`, the module without its CRC, and returns the CRC to append. */
export function sealModule(bytes: Uint8Array, nameOffset: number): number[] {
  if (bytes.length < HEADER) return [];
  const size = bytes.length + 3;
  bytes.set([...word(size), ...word(nameOffset)], 2);
  let parity = 0xff;
  for (let i = 0; i < PARITY_AT; i++) parity ^= bytes[i]!;
  bytes[PARITY_AT] = parity;
  const crc = moduleCrc(bytes);
  return [crc >> 16, (crc >> 8) & 0xff, crc & 0xff];
}
