import * as z from "zod";
import { InputError } from "../errors/index.ts";
import { type Dimension, EXAMPLES, parseAddress, parseQuantity, type Quantity } from "../quantity/index.ts";

// Compiling validators pays only for many inputs, and the workbench's content policy forbids it. It is read as schemas are made.
z.config({ jitless: true });

/** What the parts of the bench's schema are made of: a value that cannot be read becomes an issue with its sentence. */

/**
 * Names what a schema means. `describe` does the same on a copy, which is for schemas that stand at several places;
 * making schemas is much of the time to start.
 */
export const described = <T extends z.ZodType>(schema: T, about: string): T => {
  z.globalRegistry.add(schema, { description: about });
  return schema;
};

const nothing = z.never();
/** Just these keys. One schema for what else stands there, where `strictObject` makes one each time. */
export const keys = <T extends z.core.$ZodShape>(shape: T) =>
  new z.ZodObject({ type: "object", shape, catchall: nothing }) as z.ZodObject<T, z.core.$strict>;

/** A text, or what YAML takes for a number: one schema for all. */
const written = z.union([z.string(), z.number()]);

/** What `read` makes of a text, or its sentence as an issue. */
const readBy = <T>(read: (text: string | number) => T) =>
  written.transform((text, context): T => {
    try {
      return read(text);
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      context.addIssue({ code: "custom", message: error.message });
      return z.NEVER;
    }
  });

/** What may be below nothing, and what cannot even be nothing: a clock of 0 Hz makes no rate. */
const SIGNED: ReadonlySet<Dimension> = new Set(["voltage", "temperature", "share", "count"]);
const ABOVE_ZERO: ReadonlySet<Dimension> = new Set([
  "frequency",
  "rate",
  "rotation",
  "capacitance",
  "trackDensity",
  "bitDensity",
  "coercivity",
]);

/** Reads a quantity that can be one of something on a bench, with all that its tolerance allows. */
function physical(text: string, dimension: Dimension, positive = false): Quantity {
  const read = parseQuantity(text, dimension);
  const isAbove = read.low > 0 || (read.low === 0 && !positive && !ABOVE_ZERO.has(dimension));
  if (isAbove || (SIGNED.has(dimension) && !positive)) return read;
  throw new InputError(
    "bad-quantity",
    `“${text}” ${read.low < 0 ? "goes below 0" : "is nothing"}; expected something like “${EXAMPLES[dimension]}”`,
  );
}

const quantities = new Map<Dimension, ReturnType<typeof readBy<Quantity>>>();
export const quantity = (dimension: Dimension, about: string) => {
  const known = quantities.get(dimension) ?? readBy((text) => physical(String(text), dimension));
  quantities.set(dimension, known);
  return known.describe(`${about} Written like “${EXAMPLES[dimension]}”.`);
};

const aSize = readBy((text) => physical(String(text), "voltage", true));
/** A voltage that has no sign and is not nothing: that of a transformer. */
export const voltageAboveZero = (about: string) => aSize.describe(`${about} Written like “${EXAMPLES.voltage}”.`);

const anAddress = readBy(parseAddress);
export const address = (about: string) => anAddress.describe(`${about} Written like “$C000” or “0xC000”.`);

export const text = (about: string) => described(z.string(), about);
/** May be all digits, which YAML takes for a number. */
const aPartNumber = written.transform(String);
export const partNumber = (about: string) => aPartNumber.describe(about);

/** Keys of an image of a disk or a ROM: where it came from, and by whose leave it is used. */
export const origin = {
  from: text("From whom or where it came.").optional(),
  received: text("When it came: 2026-03-14.").optional(),
  permission: text("Who allowed its use, in their words.").optional(),
  licence: text("The licence that it is under.").optional(),
};

export const yesNo = (about: string) => described(z.boolean(), about);

const wholes = new Map<string, z.ZodInt>();
export const whole = (about: string, least = 0, most = 65_536) => {
  const key = `${least} ${most}`;
  const known = wholes.get(key) ?? z.int().min(least).max(most);
  wholes.set(key, known);
  return known.describe(about);
};
export const named = <T extends z.ZodType>(each: T, about: string) => described(z.record(z.string(), each), about);
export const rail = z.string().regex(/^[+-]\d+(\.\d+)? V$/, "a rail is named like “+5 V” or “-12 V”");
