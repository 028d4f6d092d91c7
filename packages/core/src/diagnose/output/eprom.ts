import type { Bench } from "../../bench/index.ts";
import { InputError } from "../../errors/index.ts";
import { memoryMapOf } from "../../memory/index.ts";
import type { TestProgram } from "../types.ts";

/**
 * What goes into the EPROM: the program's bytes where the chip's own address pins find them, FF elsewhere. `bytes` is the size of the
 * EPROM; a larger one than the place needs is filled with copies, so that it does not matter how its upper pins are wired.
 * Throws an `InputError` for a program that is not made for an EPROM, or for a size that cannot hold it.
 */
export function epromImage(bench: Bench, program: TestProgram, bytes?: number): { image: Uint8Array; part: string } {
  const map = memoryMapOf(bench);
  if (program.place !== "eprom" || !map)
    throw new InputError(
      "no-eprom",
      "This program is loaded into memory; only one made for an EPROM has an image for it.",
    );
  const part = map.whoAnswers(map.powerOn, program.entry).read!.part;
  const { words, bytes: shown } = map.part(part);
  const size = bytes ?? powerOfTwo(words ?? shown);
  if (size < 256 || size !== powerOfTwo(size))
    throw new InputError("eprom-size", `${size} bytes is no size of an EPROM: that is a power of two from 256 on.`);
  const chip = Math.min(size, powerOfTwo(shown));
  const small = new Uint8Array(chip).fill(0xff);
  const written = new Uint8Array(chip);
  for (const { address, bytes: own } of program.segments)
    for (const [index, byte] of own.entries()) {
      const answer = map.whoAnswers(map.powerOn, address + index).read;
      if (answer?.part !== part)
        throw new InputError(
          "eprom-apart",
          `$${(address + index).toString(16).toUpperCase()} does not lie in that EPROM.`,
        );
      const at = answer.offset % chip;
      if (written[at]) throw new InputError("eprom-size", `The program does not fit an EPROM of ${size} bytes.`);
      written[at] = 1;
      small[at] = byte;
    }
  const image = new Uint8Array(size);
  for (let at = 0; at < size; at += chip) image.set(small, at);
  return { image, part };
}

const powerOfTwo = (bytes: number): number => 2 ** Math.ceil(Math.log2(Math.max(1, bytes)));
