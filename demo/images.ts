import { join } from "node:path";
import { ternDisk, ternRom } from "./tern.ts";

/** The images of the demo jobs by path; the same bytes each time. `folder` is this folder. */
export function demoImages(folder: string): ReadonlyMap<string, Uint8Array> {
  const tern = ternDisk(join(folder, "tern"));
  const rom = ternRom(join(folder, "tern"));
  return new Map([
    ["first-try/images/tern.img", tern],
    ["first-try/images/monitor.rom", rom],
    ["mended/images/tern.img", tern],
    ["mended/images/monitor.rom", rom],
  ]);
}
