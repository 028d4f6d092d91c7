import { listingText } from "../../assemble/index.ts";
import type { Bench } from "../../bench/index.ts";
import { rawImage, toIntelHex, toSRecord } from "../../bytes/index.ts";
import type { TestProgram } from "../types.ts";
import { epromImage } from "./eprom.ts";
import { dataToType, hexToType } from "./type-in.ts";

export type TypeIn = "hex" | "data";
export const TYPE_INS: readonly TypeIn[] = ["hex", "data"];

export interface ProgramFile {
  name: string;
  content: string | Uint8Array;
  about: string;
}

export interface FileOptions {
  /** Bytes of the EPROM; the size of the bench's own where nothing is said. */
  eprom?: number;
  /** A form to type in as well. */
  typeIn?: TypeIn;
}

/** Everything that one program is wanted as. `stem` begins each name. */
export function programFiles(
  bench: Bench,
  program: TestProgram,
  stem: string,
  options: FileOptions = {},
): ProgramFile[] {
  const segments = [...program.segments];
  const start = program.entry;
  const files: ProgramFile[] = [
    text(`${stem}.asm`, program.source, "assembler source, with comments"),
    text(`${stem}.lst`, listingText(program.assembly), "listing with addresses, bytes and cycles"),
    text(`${stem}.srec`, toSRecord({ segments, start }), "S-records"),
    text(`${stem}.hex`, toIntelHex({ segments, start }), "Intel HEX"),
  ];
  if (program.place === "eprom") {
    const { image, part } = epromImage(bench, program, options.eprom);
    files.push({ name: `${stem}.rom`, content: image, about: `raw, ${image.length} bytes for the EPROM “${part}”` });
  } else
    files.push({ name: `${stem}.bin`, content: rawImage(segments), about: "raw, from its first byte to its last" });
  if (options.typeIn === "hex") files.push(text(`${stem}-hex.txt`, hexToType(segments), "hex to type into a monitor"));
  if (options.typeIn === "data") files.push(text(`${stem}-data.txt`, dataToType(segments), "numbered DATA lines"));
  return files;
}

const text = (name: string, content: string, about: string): ProgramFile => ({
  name,
  content,
  about,
});
