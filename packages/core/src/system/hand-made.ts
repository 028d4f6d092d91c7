import { asciiBytes } from "../bytes/index.ts";
import { uniform } from "../geometry/index.ts";
import { type Entry, OWNER, type Volume, type VolumeKind } from "../volume/index.ts";
import { buildDescriptor, diskTable, terminalTable } from "./descriptor.ts";
import { bodyOffset, buildModule, highBitName, MODULE_TYPE } from "./module.ts";

/** A volume made by hand, and a small system for it: what the tests of this room look at. */

type HandFile = Uint8Array | { bytes: Uint8Array; kind?: string; records?: { length: number; count: number } };

export function handVolume(
  kind: VolumeKind,
  files: Readonly<Record<string, HandFile>>,
  wish: Partial<Volume> = {},
): Volume {
  const contents = new Map<string, Uint8Array>();
  let block = 2;
  const entries = Object.entries(files).map(([path, file]): Entry => {
    const { bytes, ...more } = file instanceof Uint8Array ? { bytes: file } : file;
    contents.set(path, bytes);
    const blocks = Array.from({ length: Math.ceil(bytes.length / 256) }, () => block++);
    return {
      path,
      name: path.slice(path.lastIndexOf("/") + 1),
      nameBytes: asciiBytes(path),
      type: "file",
      kind: "file",
      size: bytes.length,
      blocks,
      ownBlocks: [],
      details: [],
      deleted: false,
      condition: "whole",
      ...more,
    };
  });
  const owners = new Int32Array(block + 10).fill(OWNER.free);
  owners.fill(OWNER.system, 0, 2);
  return {
    kind,
    format: "made by hand",
    label: "HAND",
    geometry: uniform(40, 1, 18, 256),
    freeBlocks: 10,
    facts: [],
    entries,
    owners,
    damages: [],
    condition: "whole",
    read: (entry) => ({ bytes: contents.get(entry.path)!, condition: "whole", missing: [] }),
    ...wish,
  };
}

export const together = (...parts: Uint8Array[]): Uint8Array => Uint8Array.from(parts.flatMap((part) => [...part]));

export const code = (name: string, wish: { type?: number; storage?: number; body?: Uint8Array } = {}): Uint8Array =>
  buildModule({ name, type: MODULE_TYPE.program, edition: 1, body: new Uint8Array(50).fill(0x12), ...wish });

/** A configuration module that asks for the names given: start module, disk, terminal, bootstrap module. */
export function configurationModule(topOfMemory: number, names: readonly string[]): Uint8Array {
  const fields = new Uint8Array(5 + 2 * names.length);
  const head = { name: "Setup", type: MODULE_TYPE.system, language: 0, fields };
  let at = bodyOffset(head);
  fields.set([topOfMemory >> 16, topOfMemory >> 8, topOfMemory, 12, 20]);
  names.forEach((name, i) => {
    fields.set([at >> 8, at], 5 + 2 * i);
    at += name.length;
  });
  return buildModule({ ...head, body: together(...names.map(highBitName)) });
}

export const terminal = (name: string, driver = "serial", address = 0xeff0): Uint8Array =>
  buildDescriptor({
    name,
    fileManager: "chars",
    driver,
    address,
    table: terminalTable({ rows: 24, control: 0x15, rate: 4 }),
  });

const disk = (name: string): Uint8Array =>
  buildDescriptor({
    name,
    fileManager: "blocks",
    driver: "floppy",
    address: 0xeff8,
    table: diskTable({ drive: 0, stepCode: 1, tracks: 40, sides: 1, sectorsPerTrack: 18 }),
  });

/** A boot file: everything that its configuration and descriptors ask for, save the driver of the terminal. */
export const bootFile = (topOfMemory = 0xf7ff): Uint8Array =>
  together(
    code("kernel", { type: MODULE_TYPE.system }),
    configurationModule(topOfMemory, ["first", "/D0", "/TERM", "loader"]),
    code("loader", { type: MODULE_TYPE.system }),
    code("blocks", { type: MODULE_TYPE.fileManager }),
    code("chars", { type: MODULE_TYPE.fileManager }),
    code("floppy", { type: MODULE_TYPE.driver }),
    disk("D0"),
    terminal("TERM"),
    code("first", { storage: 300 }),
  );
