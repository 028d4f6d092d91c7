import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { assemble } from "@rouse/core/assemble";

/** Runs a reference program; where it is missing, the error names the Debian package that holds it. */
export function run(tool: string, debianPackage: string, args: string[], folder?: string): string {
  const { error, status, stdout, stderr } = spawnSync(tool, args, {
    encoding: "utf8",
    maxBuffer: 1 << 28,
    ...(folder ? { cwd: folder } : {}),
  });
  if (error && "code" in error && error.code === "ENOENT")
    throw new Error(`This check needs \`${tool}\`: install the Debian package ${debianPackage}.`);
  if (error) throw error;
  if (status !== 0) throw new Error(`${tool} ended with ${status}: ${(stderr + stdout).slice(0, 2000)}`);
  return stdout;
}

/** Writes files into a folder of their own, runs `work` there, and clears up. */
export function inFolder<T>(files: Record<string, string>, work: (folder: string) => T): T {
  const folder = mkdtempSync(join(tmpdir(), "rouse-assemble-"));
  try {
    for (const [name, text] of Object.entries(files)) writeFileSync(join(folder, name), text);
    return work(folder);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

export const bytesOf = (folder: string, name: string): Uint8Array => new Uint8Array(readFileSync(join(folder, name)));
export const textOf = (folder: string, name: string): string => readFileSync(join(folder, name), "utf8");

/** First address of the generated programs. */
export const ORIGIN = 0x1000;

const hex = (bytes: Uint8Array): string => Buffer.from(bytes).toString("hex");

/** Our bytes for each line, one instruction a line. Throws with the first error; lines may fall on one another if told so. */
export function ours(cpu: string, lines: readonly string[], overlap?: "overlapping"): Uint8Array[] {
  const source = [`\tcpu ${cpu}`, `\torg ${ORIGIN}`, ...lines.map((line) => `\t${line}`)].join("\n");
  const { errors, listing } = assemble(source);
  const error = errors.find(({ code }) => !(overlap && code === "twice"));
  if (error) throw new Error(`ours: ${error.sentence}\n${error.caret}`);
  return listing.slice(2).map(({ bytes }) => bytes);
}

/** Lines whose bytes differ, as sentences. `theirs` holds the bytes of the whole program. */
export function differences(lines: readonly string[], mine: readonly Uint8Array[], theirs: Uint8Array): string[] {
  const found: string[] = [];
  let at = 0;
  lines.forEach((line, i) => {
    const bytes = mine[i]!;
    const other = theirs.subarray(at, at + bytes.length);
    if (hex(bytes) !== hex(other)) found.push(`${line}: ours ${hex(bytes)}, theirs ${hex(other)}`);
    at += bytes.length;
  });
  if (at !== theirs.length) found.push(`ours ${at} bytes in all, theirs ${theirs.length}`);
  return found;
}
