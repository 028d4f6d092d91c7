import type { Cpu6809 } from "./cpu.ts";

/** By the four-bit codes of the TFR and EXG postbyte. */
const D = 0;
const CODES = [undefined, "x", "y", "u", "s", "pc", undefined, undefined, "a", "b", "cc", "dp"] as const;
const FIRST_BYTE_CODE = 8;

/**
 * Between registers of different size the manual defines nothing: here the upper byte reads FF, and the lower byte is what a
 * byte register takes. Codes without a register read FFFF and take nothing.
 */
function get(cpu: Cpu6809, code: number): number {
  if (code === D) return (cpu.a << 8) | cpu.b;
  const name = CODES[code];
  if (!name) return 0xffff;
  return code >= FIRST_BYTE_CODE ? 0xff00 | cpu[name] : cpu[name];
}

function set(cpu: Cpu6809, code: number, value: number): void {
  if (code === D) {
    cpu.a = value >> 8;
    cpu.b = value & 0xff;
    return;
  }
  const name = CODES[code];
  if (!name) return;
  cpu[name] = code >= FIRST_BYTE_CODE ? value & 0xff : value;
  if (name === "s") cpu.armNmi();
}

export const transfer = (cpu: Cpu6809, postbyte: number): void => set(cpu, postbyte & 0x0f, get(cpu, postbyte >> 4));

export function exchange(cpu: Cpu6809, postbyte: number): void {
  const first = get(cpu, postbyte >> 4);
  const second = get(cpu, postbyte & 0x0f);
  set(cpu, postbyte >> 4, second);
  set(cpu, postbyte & 0x0f, first);
}
