import type { Site } from "./cpu.ts";
import type { Expression } from "./expression.ts";
import { problem } from "./types.ts";

/** Values into bytes, with range checks; shared by the three CPUs and the directives. An unknown value counts as 0. */

const ranged = (
  site: Pick<Site, "evaluate" | "fail">,
  expression: Expression,
  least: number,
  most: number,
  what: string,
): number => {
  const value = site.evaluate(expression) ?? 0;
  if (value >= least && value <= most) return value;
  site.fail(problem("range", expression.column, `${value} does not fit ${what}`, `${least} to ${most}`));
  return 0;
};

export const byteValue = (site: Pick<Site, "evaluate" | "fail">, expression: Expression): number =>
  ranged(site, expression, -128, 255, "a byte") & 0xff;

export const wordValue = (site: Pick<Site, "evaluate" | "fail">, expression: Expression): number =>
  ranged(site, expression, -32768, 65535, "a 16-bit word") & 0xffff;

/** A signed displacement of one byte. */
export const displacement = (site: Pick<Site, "evaluate" | "fail">, expression: Expression): number =>
  ranged(site, expression, -128, 127, "a signed byte") & 0xff;

export const within = ranged;

/** A 16-bit value as the CPU's adder sees it: −32768 to 32767. */
export const signed16 = (value: number): number => ((value & 0xffff) ^ 0x8000) - 0x8000;

/** Distance of a branch of one byte that ends at `next`; wraps round the 64 KiB as the CPU's adder does. */
export function branchByte(site: Site, target: Expression, next: number, farther: string): number {
  const value = site.evaluate(target);
  if (value === undefined) return 0;
  const distance = signed16(wordValue(site, target) - next);
  if (distance >= -128 && distance <= 127) return distance & 0xff;
  site.fail(
    problem("range", target.column, `The branch is ${distance} bytes from here, and it reaches -128 to 127`, farther),
  );
  return 0;
}
