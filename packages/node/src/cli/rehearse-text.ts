import type { RehearsalState } from "@rouse/core/rehearse";

const hex = (value: number, bits: number): string =>
  value
    .toString(16)
    .toUpperCase()
    .padStart(Math.ceil(bits / 4), "0");

/** Set flags by their letters, a point for each that is not. */
const flagText = (value: number, flags: string): string =>
  [...flags].map((letter, index) => ((value >> (flags.length - 1 - index)) & 1 ? letter : ".")).join("");

/** Registers and the next instruction, in two lines. */
export function registerLines({ registers, next, condition, memory }: RehearsalState): string[] {
  const shown = registers.map(
    ({ name, bits, value, flags }) => `${name} ${flags === undefined ? hex(value, bits) : flagText(value, flags)}`,
  );
  return [
    shown.join("  "),
    `next ${hex(next.address, 16)}: ${next.text}${condition === "runs" ? "" : ` (CPU ${condition})`}${memory === "" ? "" : `   memory: ${memory}`}`,
  ];
}
