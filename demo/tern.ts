import { readdirSync } from "node:fs";
import { join } from "node:path";
import { buildSegmentList, type TreeEntry } from "@rouse/core/volume";
import { joined, oldText, onePiece, romImage } from "./assembled.ts";

/** Modules of the boot file in order: the kernel is the one that the ROM starts. */
const BOOT = [
  "kernel.asm",
  "setup.asm",
  "ticker.asm",
  "segments.asm",
  "drive.asm",
  "lines.asm",
  "serial.asm",
  "devices.asm",
  "programs/first.asm",
];

const PROGRAMS = [
  "login",
  "shell",
  "list",
  "text",
  "memory",
  "modules",
  "processes",
  "primes",
  "time",
  "guess",
  "stop",
];

/** First block of side 1: the programs lie there, as they were put on a disk that was half full. */
const SIDE_1 = 2083;

const MADE = "1984-05-19 10:30";

/** The disk of the Larkfield 9: a segment-list volume on all 4,166 blocks, Tern on it. `folder` holds Tern's sources. */
export function ternDisk(folder: string): Uint8Array {
  const file = (path: string, bytes: Uint8Array, attributes = "PR R", from = 0): TreeEntry => ({
    path,
    type: "file",
    bytes,
    wishes: { attributes, created: MADE, modified: MADE, from },
  });
  const texts = (below: string): TreeEntry[] =>
    readdirSync(join(folder, "disk", below))
      .sort()
      .map((name) => file(`${below}/${name}`, oldText(folder, `disk/${below}/${name}`, "\r"), "PR W R"));
  return buildSegmentList(
    [
      file("boot", joined(BOOT.map((source) => onePiece(folder, source)))),
      file("startup", oldText(folder, "disk/startup", "\r")),
      ...PROGRAMS.map((name) =>
        file(`commands/${name}`, onePiece(folder, `programs/${name}.asm`), "PE PR E R", SIDE_1),
      ),
      ...texts("sys"),
      ...texts("visitors"),
    ],
    { zoned: "77-track-two-sided", clusterSectors: 2, name: "Tern", created: MADE, id: 9, bootstrap: "boot" },
  );
}

/** The EPROM in the two pieces that the CPU sees of it: $E000 to $FEFF, and the vectors from $FF80 on. */
export function ternRoms(folder: string): { monitor: Uint8Array; vectors: Uint8Array } {
  const rom = romImage(folder, "monitor.asm", 0xe000, 0x2000);
  return { monitor: rom.slice(0, 0x1f00), vectors: rom.slice(0x1f80) };
}
