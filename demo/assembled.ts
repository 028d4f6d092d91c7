import { readFileSync } from "node:fs";
import { join } from "node:path";
import { type Assembly, assemble } from "@rouse/core/assemble";
import { InputError } from "@rouse/core/errors";

/** Assembles a source of the demo; includes are found from `folder` on. Throws an `InputError` with all that is wrong. */
function assembled(folder: string, file: string): Assembly {
  const text = (name: string): string => readFileSync(join(folder, name), "utf8");
  const result = assemble(text(file), {
    file,
    include: (name) => {
      try {
        return text(name);
      } catch {
        return undefined;
      }
    },
  });
  if (result.errors.length > 0)
    throw new InputError(
      "demo-source",
      result.errors
        .map((each) => `${each.file}:${each.line}:${each.column}: ${each.sentence}\n${each.caret}`)
        .join("\n"),
    );
  return result;
}

/** All bytes of a source that places them in one piece. */
export function onePiece(folder: string, file: string): Uint8Array {
  const { segments } = assembled(folder, file);
  if (segments.length !== 1)
    throw new InputError("demo-source", `${file} places its bytes in ${segments.length} pieces.`);
  return segments[0]!.bytes;
}

/** A ROM of `size` bytes from `at` on, FF where the source places nothing. */
export function romImage(folder: string, file: string, at: number, size: number): Uint8Array {
  const rom = new Uint8Array(size).fill(0xff);
  for (const { address, bytes } of assembled(folder, file).segments) {
    if (address < at || address + bytes.length > at + size)
      throw new InputError("demo-source", `${file} places bytes outside its ROM, at ${address.toString(16)}.`);
    rom.set(bytes, address - at);
  }
  return rom;
}

export function joined(parts: readonly Uint8Array[]): Uint8Array {
  const all = new Uint8Array(parts.reduce((sum, each) => sum + each.length, 0));
  let at = 0;
  for (const part of parts) {
    all.set(part, at);
    at += part.length;
  }
  return all;
}

/** A text of the demo, its line ends turned into those of the old system. */
export const oldText = (folder: string, file: string, end: "\r" | "\r\n"): Uint8Array =>
  new TextEncoder().encode(readFileSync(join(folder, file), "utf8").replaceAll("\n", end));
