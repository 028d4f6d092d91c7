import * as z from "zod";
import { InputError } from "../errors/index.ts";
import { type Dimension, EXAMPLES, parseAddress, parseQuantity, type Quantity } from "../quantity/index.ts";

// Compiling validators pays only for many inputs, and the workbench's content policy forbids it. It is read as schemas are made.
z.config({ jitless: true });

/** What the parts of the bench's schema are made of: a value that cannot be read becomes an issue with its sentence. */

export const quantity = (dimension: Dimension, about: string) =>
  z
    .union([z.string(), z.number()])
    .describe(`${about} Written like “${EXAMPLES[dimension]}”.`)
    .transform((written, context): Quantity => {
      try {
        return parseQuantity(String(written), dimension);
      } catch (error) {
        if (!(error instanceof InputError)) throw error;
        context.addIssue({ code: "custom", message: error.message });
        return z.NEVER;
      }
    });

export const address = (about: string) =>
  z
    .union([z.string(), z.number()])
    .describe(`${about} Written like “$C000” or “0xC000”.`)
    .transform((written, context): number => {
      try {
        return parseAddress(written);
      } catch (error) {
        if (!(error instanceof InputError)) throw error;
        context.addIssue({ code: "custom", message: error.message });
        return z.NEVER;
      }
    });

export const text = (about: string) => z.string().describe(about);
/** A part number may be all digits, which YAML takes for a number. */
export const partNumber = (about: string) => z.union([z.string(), z.number()]).describe(about).transform(String);
export const whole = (about: string, least = 0, most = 65_536) => z.int().min(least).max(most).describe(about);
export const named = <T extends z.ZodType>(each: T, about: string) => z.record(z.string(), each).describe(about);
export const rail = z.string().regex(/^[+-]\d+(\.\d+)? V$/, "a rail is named like “+5 V” or “-12 V”");
