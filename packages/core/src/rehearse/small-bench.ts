import { assemble } from "../assemble/index.ts";
import { type Bench, readBench } from "../bench/index.ts";
import { loadCatalogue } from "../catalogue/index.ts";
import { createRehearsal, type Rehearsal } from "./index.ts";

/** Benches of a few lines for the tests, with a program of ours as the ROM. */

const catalogue = loadCatalogue();

export interface Small {
  cpu: "6809" | "6502" | "Z80";
  /** Lines of the bench below `computer`, and at its top level. */
  computer?: readonly string[];
  rest?: readonly string[];
}

const CPUS = {
  "6809": { part: "MC68A09E", rom: "$E000", ram: "48 KiB", at: "$0000", vectors: "  org $FFFE\n  fdb start\n" },
  "6502": { part: "6502", rom: "$E000", ram: "48 KiB", at: "$0000", vectors: "  org $FFFC\n  fdb start\n" },
  Z80: { part: "Z80A", rom: "$0000", ram: "32 KiB", at: "$8000", vectors: "" },
} as const;

export function smallBench({ cpu, computer = [], rest = [] }: Small): Bench {
  const { part, rom, ram, at } = CPUS[cpu];
  const text = [
    "rouse: 1",
    "name: small",
    "computer:",
    `  cpu: { part: ${part}, clock: 1 MHz }`,
    "  memory:",
    `    main: { kind: ram, at: ${at}, size: ${ram} }`,
    "    devices: { kind: io, at: $D000, size: 256 bytes }",
    `    monitor: { kind: rom, at: ${rom}, size: 8 KiB, file: rom }`,
    ...computer.map((line) => `  ${line}`),
    ...rest,
  ].join("\n");
  const { bench, issues } = readBench(text, catalogue);
  if (!bench) throw new Error(issues.map((each) => each.sentence).join("; "));
  return bench;
}

/** A ROM from a source that begins at the label `start`. */
export function smallRom(cpu: Small["cpu"], source: string): Uint8Array {
  const at = cpu === "Z80" ? 0 : 0xe000;
  const { segments, errors } = assemble(
    `  cpu ${cpu.toLowerCase()}\n  org ${at}\nstart\n${source}\n${CPUS[cpu].vectors.replace("fdb", cpu === "6502" ? "dw" : "fdb")}`,
  );
  if (errors[0]) throw new Error(`${errors[0].sentence}\n${errors[0].caret}`);
  const rom = new Uint8Array(0x2000).fill(0xff);
  for (const { address, bytes } of segments) rom.set(bytes, address - at);
  return rom;
}

/** The machine with its program; `image` is the file `disk`. */
export function smallMachine(small: Small, source: string, image?: Uint8Array): Rehearsal {
  return createRehearsal(smallBench(small), {
    roms: new Map([["rom", smallRom(small.cpu, source)]]),
    images: new Map(image ? [["disk", image]] : []),
  });
}
