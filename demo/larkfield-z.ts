import { readdirSync } from "node:fs";
import { join } from "node:path";
import type { TreeEntry } from "@rouse/core/volume";
import { buildExtentEntry, STANDARD_8_INCH } from "@rouse/core/volume/extent-entry";
import { joined, oldText, onePiece, romImage } from "./assembled.ts";

const PROGRAMS = ["files", "show", "dump", "sums", "wipe"];

const SECTOR = 128;
/** Sectors that the loader reads. */
const SYSTEM_SECTORS = 32;

const padded = (bytes: Uint8Array, size: number): Uint8Array => joined([bytes, new Uint8Array(size - bytes.length)]);

/** The disk of the Larkfield Z: an extent-entry volume of 8-inch single density. `folder` holds its sources. */
export function larkfieldZDisk(folder: string): Uint8Array {
  const file = (path: string, bytes: Uint8Array): TreeEntry => ({ path, type: "file", bytes });
  const system = joined([
    padded(onePiece(folder, "loader.asm"), SECTOR),
    padded(onePiece(folder, "system.asm"), SYSTEM_SECTORS * SECTOR),
  ]);
  return buildExtentEntry(
    [
      ...PROGRAMS.map((name) => file(`${name.toUpperCase()}.COM`, onePiece(folder, `programs/${name}.asm`))),
      ...readdirSync(join(folder, "disk"))
        .sort()
        .map((name) => file(name, oldText(folder, `disk/${name}`, "\r\n"))),
    ],
    STANDARD_8_INCH,
    system,
  );
}

/** The ROM at $F000 to $FFFF. */
export const larkfieldZRom = (folder: string): Uint8Array => romImage(folder, "monitor.asm", 0xf000, 0x1000);
