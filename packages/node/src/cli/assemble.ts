import { lstatSync, readFileSync } from "node:fs";
import { lstat, stat } from "node:fs/promises";
import { basename, dirname, join, resolve } from "node:path";
import { type Assembly, assemble, listingText } from "@rouse/core/assemble";
import { hex, rawImage, toIntelHex, toSRecord, visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import { formatNumber } from "@rouse/core/quantity";
import { openRegular, readWhole, writeNew, writeWhole } from "../store/index.ts";
import type { Verb } from "./verb.ts";

/** Longer sources are refused: all of the demo's together have a tenth of it. */
const LARGEST = 4 << 20;

const decode = (bytes: Uint8Array): string => new TextDecoder().decode(bytes);
const encode = (text: string): Uint8Array => new TextEncoder().encode(text);

/** Files named by `include`: those beside the source and in folders below it. What is read is added to `read`. */
function includeBeside(source: string, read: string[]): (name: string) => string | undefined {
  return (name) => {
    if (/^([/\\]|[A-Za-z]:)/.test(name) || name.includes("\0") || name.split(/[/\\]/).includes("..")) return undefined;
    const path = join(dirname(source), name);
    try {
      const found = lstatSync(path);
      if (!found.isFile() || found.size > LARGEST) return undefined;
      const text = decode(readFileSync(path));
      read.push(path);
      return text;
    } catch {
      return undefined;
    }
  };
}

/** `NAME=VALUE`, several parted by commas. Throws an `InputError` for anything else. */
function definesOf(written: string): Record<string, number> {
  return Object.fromEntries(
    written.split(",").map((each) => {
      const [, name, value] = /^\s*([A-Za-z_][\w.]*)\s*=\s*(\S+)\s*$/.exec(each) ?? [];
      const number = value === undefined ? undefined : numberOf(value);
      if (!name || number === undefined)
        throw new InputError(
          "bad-define",
          `“${visible(each)}” is no definition; write NAME=VALUE, such as turns=20 or top=$EFFF.`,
        );
      return [name, number];
    }),
  );
}

/** A number of at most 32 bits, decimal or hexadecimal; undefined for anything else. */
function numberOf(text: string): number | undefined {
  const [, hexadecimal, decimal] = /^(?:(?:\$|0x)([\da-f]{1,8})|(-?\d{1,10}))$/i.exec(text.trim()) ?? [];
  const value = hexadecimal ? Number.parseInt(hexadecimal, 16) : decimal ? Number(decimal) : Number.NaN;
  return value >= -(2 ** 31) && value < 2 ** 32 ? value : undefined;
}

/** What a path names: the file itself where there is one, so that links and other spellings are the same. */
async function identityOf(path: string): Promise<string> {
  try {
    const { dev, ino } = await stat(path);
    return `${dev}:${ino}`;
  } catch {
    return resolve(path);
  }
}

/** Throws an `InputError` where an output would take the place of a source that was read, or of another output. */
async function keepApart(sources: readonly string[], outputs: readonly string[]): Promise<void> {
  const taken = new Map<string, string>();
  for (const source of sources) taken.set(await identityOf(source), "the source");
  for (const output of outputs) {
    const identity = await identityOf(output);
    const what = taken.get(identity);
    if (what !== undefined)
      throw new InputError("same-file", `${visible(output)} is ${what}; name another file for what is written.`);
    taken.set(identity, "named for another form already");
  }
}

const FORMS: Readonly<Record<string, (assembly: Assembly, fill: number) => Uint8Array>> = {
  srec: ({ segments, start }) => encode(toSRecord({ segments, ...(start === undefined ? {} : { start }) })),
  ihex: ({ segments, start }) => encode(toIntelHex({ segments, ...(start === undefined ? {} : { start }) })),
  raw: ({ segments }, fill) => rawImage(segments, { fill }),
  listing: (assembly) => encode(listingText(assembly)),
};

export const verb: Verb = {
  usage: "FILE",
  help: [
    "Assembles a program for the 6809, the 6502 or the Z80 (docs/assembler.md). The source names its CPU and where it lies:",
    "`cpu 6809` and `org $1000`. All errors are told at once, and nothing is written where there are any. Without an",
    "output the listing is printed, with the cycles of each instruction. Files of `include` are looked for beside FILE.",
  ],
  options: {
    srec: { type: "string", value: "OUT", about: "write S-records" },
    ihex: { type: "string", value: "OUT", about: "write Intel HEX" },
    raw: { type: "string", value: "OUT", about: "write the bytes from the lowest address to the highest" },
    listing: { type: "string", value: "OUT", about: "write the listing" },
    fill: { type: "string", value: "BYTE", about: "with --raw: what gaps hold; $FF where nothing is said" },
    define: { type: "string", value: "NAME=VALUE,…", about: "names known before the first line" },
    force: { type: "boolean", about: "write over files that are there" },
    json: { type: "boolean", about: "print segments, symbols and errors for machines" },
  },
  examples: [
    ["rouse assemble demo/tern/monitor.asm", "the listing, with cycles"],
    ["rouse assemble test.asm --srec test.srec --raw test.bin", "for a loader, and for an EPROM"],
  ],
  async run({ positionals, values }, out) {
    const [source, extra] = positionals;
    if (source === undefined || extra !== undefined)
      throw new InputError("one-source", "Name one source file: rouse assemble FILE.");
    const fill = typeof values.fill === "string" ? numberOf(values.fill) : 0xff;
    if (fill === undefined || fill < 0 || fill > 0xff)
      throw new InputError("bad-fill", "--fill is one byte, $00 to $FF.");
    const handle = await openRegular(source);
    let text: string;
    try {
      const bytes = await readWhole(handle, source, LARGEST);
      const zero = bytes.indexOf(0);
      if (zero >= 0)
        throw new InputError(
          "no-text",
          `${visible(source)} is no source: a text has no byte 00, and it has one at offset ${formatNumber(zero, 9)}.`,
        );
      text = decode(bytes);
    } finally {
      await handle.close();
    }
    const read = [source];
    const assembly = assemble(text, {
      file: basename(source),
      include: includeBeside(source, read),
      ...(typeof values.define === "string" ? { defines: definesOf(values.define) } : {}),
    });
    const { cpu, segments, symbols, errors, start } = assembly;
    if (values.json)
      out.line(
        JSON.stringify(
          {
            cpu: cpu ?? null,
            start: start ?? null,
            segments: segments.map(({ address, bytes }) => ({ address, bytes: Buffer.from(bytes).toString("hex") })),
            symbols: Object.fromEntries(symbols),
            errors,
          },
          null,
          2,
        ),
      );
    if (errors.length > 0) {
      if (!values.json)
        for (const { file, line, column, sentence, caret } of errors)
          process.stderr.write(`${visible(file)}:${line}:${column}: ${visible(sentence)}\n${visibleLines(caret)}\n`);
      return 2;
    }
    const outputs = Object.entries(FORMS).flatMap(([form, make]) => {
      const file = values[form];
      return typeof file === "string" ? [{ file, make }] : [];
    });
    await keepApart(
      read,
      outputs.map(({ file }) => file),
    );
    if (segments.length === 0 && outputs.length > 0)
      throw new InputError("no-bytes", `${visible(source)} makes no byte, so nothing is written.`);
    if (!values.force)
      for (const { file } of outputs)
        if (await isThere(file))
          throw new InputError("target-there", `${visible(file)} is there already; --force writes over it.`);
    for (const { file, make } of outputs) await (values.force ? writeWhole : writeNew)(file, make(assembly, fill));
    if (values.json) return 0;
    if (outputs.length === 0) for (const line of listingText(assembly).trimEnd().split("\n")) out.line(line);
    if (segments.length === 0) out.line("No byte is made.");
    for (const { address, bytes } of segments)
      out.line(`$${hex(address, 4)}–$${hex(address + bytes.length - 1, 4)}  ${formatNumber(bytes.length, 9)} bytes`);
    for (const { file } of outputs) out.line(`${file} is written.`);
    return 0;
  },
};

const visibleLines = (text: string): string => text.split("\n").map(visible).join("\n");

const isThere = (path: string): Promise<boolean> =>
  lstat(path).then(
    () => true,
    () => false,
  );
