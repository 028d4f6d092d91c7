import { join } from "node:path";
import { larkfieldZDisk, larkfieldZRom } from "./larkfield-z.ts";
import { ternDisk, ternRoms } from "./tern.ts";

/** The images of the demo jobs by path; the same bytes each time. `folder` is this folder. */
export function demoImages(folder: string): ReadonlyMap<string, Uint8Array> {
  const tern = ternDisk(join(folder, "tern"));
  const { monitor, vectors } = ternRoms(join(folder, "tern"));
  const larkfieldZ = join(folder, "larkfield-z");
  return new Map([
    ...["first-try", "mended"].flatMap((job): [string, Uint8Array][] => [
      [`${job}/images/tern.img`, tern],
      [`${job}/images/monitor.rom`, monitor],
      [`${job}/images/vectors.rom`, vectors],
    ]),
    ["second-machine/images/larkfield-z.img", larkfieldZDisk(larkfieldZ)],
    ["second-machine/images/monitor.rom", larkfieldZRom(larkfieldZ)],
  ]);
}
