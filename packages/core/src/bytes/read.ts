import { FormatError } from "../errors/index.ts";

/**
 * Bounds-checked reads from foreign bytes. Each throws a `FormatError` naming the offset, so that a short image
 * is a sentence and never an `undefined` that travels.
 */

const short = (what: string, at: number, need: number, have: number): never => {
  throw new FormatError("short", `${what} needs ${need} bytes where the image holds ${Math.max(0, have - at)}`, at);
};

const check = (bytes: Uint8Array, at: number, need: number, what: string): void => {
  if (!(at >= 0) || at + need > bytes.length) short(what, at, need, bytes.length);
};

export function u8(bytes: Uint8Array, at: number): number {
  check(bytes, at, 1, "a byte");
  return bytes[at]!;
}

export function u16le(bytes: Uint8Array, at: number): number {
  check(bytes, at, 2, "a 16-bit number");
  return bytes[at]! | (bytes[at + 1]! << 8);
}

export function u16be(bytes: Uint8Array, at: number): number {
  check(bytes, at, 2, "a 16-bit number");
  return (bytes[at]! << 8) | bytes[at + 1]!;
}

export function u24be(bytes: Uint8Array, at: number): number {
  check(bytes, at, 3, "a 24-bit number");
  return (bytes[at]! << 16) | (bytes[at + 1]! << 8) | bytes[at + 2]!;
}

export function u32be(bytes: Uint8Array, at: number): number {
  check(bytes, at, 4, "a 32-bit number");
  return ((bytes[at]! << 24) | (bytes[at + 1]! << 16) | (bytes[at + 2]! << 8) | bytes[at + 3]!) >>> 0;
}

export function u32le(bytes: Uint8Array, at: number): number {
  check(bytes, at, 4, "a 32-bit number");
  return ((bytes[at + 3]! << 24) | (bytes[at + 2]! << 16) | (bytes[at + 1]! << 8) | bytes[at]!) >>> 0;
}

/** A view of `length` bytes at `at`; copy it before keeping it. */
export function view(bytes: Uint8Array, at: number, length: number): Uint8Array {
  check(bytes, at, length, "a field");
  return bytes.subarray(at, at + length);
}
