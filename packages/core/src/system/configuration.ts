import { u16be, u24be } from "../bytes/index.ts";
import { type FoundModule, isExecutable, MODULE_TYPE, readHighBitName } from "./module.ts";

/**
 * The configuration module: a system module (type C) without code. Layout from memory, the prints of two manuals
 * differ at 12 hex:
 *
 *     09  top of memory   3 bytes: highest address the system may use
 *     0C  interrupt table entries
 *     0D  device table entries
 *     0E  offset of the start module's name
 *     10  offset of the default disk's name, `/` first
 *     12  offset of the first terminal's name, `/` first; in one print the bootstrap module's name
 *     14  offset of the bootstrap module's name
 */

export type ConfigurationRole = "start module" | "default disk" | "first terminal" | "bootstrap module";

export interface Configuration {
  name: string;
  offset: number;
  topOfMemory: number;
  interruptEntries: number;
  deviceEntries: number;
  asks: readonly { role: ConfigurationRole; name: string; offset: number }[];
}

/** Reads a configuration module; null where the module is none or names no start module. */
export function readConfiguration(bytes: Uint8Array, module: FoundModule): Configuration | null {
  const at = module.offset;
  const end = Math.min(bytes.length, at + module.size) - 3;
  if (module.type !== MODULE_TYPE.system || isExecutable(module.type, module.language) || at + 0x10 > end) return null;
  const asks: Configuration["asks"][number][] = [];
  // The pointers end where the first text begins.
  let texts = u16be(bytes, at + 4);
  for (let field = 0x0e; field + 2 <= Math.min(texts, 0x16) && at + field + 2 <= end; field += 2) {
    const offset = u16be(bytes, at + field);
    const text = offset > field ? readHighBitName(bytes, at + offset, end) : null;
    if (text === null) continue;
    texts = Math.min(texts, offset);
    const isDevice = text.startsWith("/");
    const role: ConfigurationRole | null =
      field === 0x0e
        ? "start module"
        : isDevice
          ? field === 0x10
            ? "default disk"
            : "first terminal"
          : field === 0x10
            ? null
            : "bootstrap module";
    if (role !== null) asks.push({ role, name: text, offset: at + offset });
  }
  if (asks[0]?.role !== "start module") return null;
  return {
    name: module.name,
    offset: at,
    topOfMemory: u24be(bytes, at + 9),
    interruptEntries: bytes[at + 0x0c]!,
    deviceEntries: bytes[at + 0x0d]!,
    asks,
  };
}
