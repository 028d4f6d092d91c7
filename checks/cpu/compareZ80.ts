import { spawnSync } from "node:child_process";
import { closeSync, mkdtempSync, openSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { toIntelHex } from "@rouse/core/bytes";
import { CpuZ80, PagedBus } from "@rouse/core/cpu";
import { type Batch, batch, DATA, DATA_END, RECORD, RECORDS_AT, type Tried, WORDS } from "./harnessZ80.ts";

/** Differences of one batch that are told. */
const MOST_SHOWN = 10;

/** Longer than any batch takes; a program that ran away is ended. */
const TIMEOUT_MS = 30_000;

/** Memory from 0 on after a batch in Debian's sz80 (package sdcc-ucsim); only the parts that are compared are filled in. */
function runSz80({ image, start }: Batch, folder: string): Uint8Array {
  const program = join(folder, "program.ihx");
  writeFileSync(program, toIntelHex({ segments: [{ address: 0, bytes: image }] }));
  // Without the first line it stops where SP is below F000. It is slow on pipes, so it gets files.
  const commands = ["expression sp_limit=0", `pc ${start}`, "run", `dump /i rom ${DATA} ${image.length - 1}`, "quit"];
  const [input, output] = [join(folder, "commands"), join(folder, "output")];
  writeFileSync(input, commands.map((each) => `${each}\n`).join(""));
  const files = [openSync(input, "r"), openSync(output, "w")];
  const { error } = spawnSync("sz80", ["-b", "-t", "Z80", program], {
    stdio: [files[0], files[1], "ignore"],
    timeout: TIMEOUT_MS,
  });
  for (const file of files) closeSync(file);
  if (error && "code" in error && error.code === "ENOENT")
    throw new Error("This check needs `sz80`: install the Debian package sdcc-ucsim.");
  if (error) throw error;
  const text = readFileSync(output, "latin1");
  if (!text.includes("Halted")) throw new Error(`sz80 did not halt: ${text.slice(0, 500)}`);
  const memory = new Uint8Array(image.length);
  let filled = 0;
  for (const [, count, address, bytes] of text.matchAll(/:([0-9A-F]{2})([0-9A-F]{4})00([0-9A-F]+)/gi)) {
    const part = Buffer.from(bytes!, "hex").subarray(0, Number.parseInt(count!, 16));
    memory.set(part, Number.parseInt(address!, 16));
    filled += part.length;
  }
  if (filled !== image.length - DATA) throw new Error(`sz80 gave ${filled} bytes: ${text.slice(-500)}`);
  return memory;
}

function runOurs({ image, start }: Batch): Uint8Array {
  const memory = new Uint8Array(0x10000);
  memory.set(image);
  const bus = new PagedBus(memory);
  bus.mapMemory(0, 0xffff, 0);
  // In sz80 every port reads 0.
  bus.mapPorts({ read: () => 0, write: () => {} });
  const cpu = new CpuZ80(bus);
  for (const { name } of cpu.registers) cpu.set(name, 0);
  cpu.set("PC", start);
  while (cpu.condition === "runs" && bus.clock < 1e8) cpu.run(bus.clock + 10_000);
  return memory.slice(0, image.length);
}

const wordAt = (bytes: Uint8Array, at: number): number => bytes[at]! | (bytes[at + 1]! << 8);

/**
 * Instructions that sz80 0.6.4 (sdcc 4.2.0) gets wrong in more than flags, by the user manual; they are not run in it.
 * - CPD and CPDR count HL up; RLD and RRD put wrong digits into A and memory; LD A,R counts R otherwise.
 * - INIR, INDR, OTIR and OTDR never end.
 * - SET b,(IX+d) with a copy into H or L loses it; it doesn't know the halves of IX and IY and stops there.
 */
const WRONG = /^(CPD|CPDR|RLD|RRD|LD A,R|INIR|INDR|OTIR|OTDR|SET \(X\+d\),s|BIT \(X\+d\),s|.*\bh\b.*)$/;

/**
 * Flags that it sets otherwise than the manual says, or where the manual says unknown. z80.test.ts checks all of these flags
 * by the manual's rules. X and Y, which no manual describes, are not compared anywhere.
 */
const XY = 0x28;
const FLAGS: readonly (readonly [instructions: RegExp, flags: number, why: string])[] = [
  [/^(ADC|SBC)/, 0x10, "H leaves out the carry that comes in"],
  [/^AND/, 0x10, "H is cleared; the manual sets it"],
  [/^DEC (r|\()/, 0x10, "H is not the borrow from bit 4"],
  [/^DAA/, 0x01, "C is lost after some corrections"],
  [/^(RLA|RRA)$/, 0xc4, "S, Z and P follow the result; the manual leaves them alone"],
  [/^(RLC|RRC|RL|RR|SLA|SRA|SLL|SRL) /, 0x04, "P is not the parity"],
  [/^BIT/, 0x84, "S and P: unknown by the manual"],
  [/^LD A,I$/, 0x04, "P doesn't show IFF2"],
  [/^IN r/, 0xd4, "S, Z, H and P don't follow the byte"],
  [/^CPIR?$/, 0x11, "C is changed, H is not the borrow"],
  [/^(INI|IND|OUTI|OUTD)$/, 0xd7, "S, H, P: unknown by the manual; Z and C don't follow it"],
];

export const isComparable = ({ text }: Tried): boolean => !WRONG.test(text);

const mayDiffer = (text: string): number =>
  FLAGS.reduce((all, [which, flags]) => (which.test(text) ? all | flags : all), XY);

/** Tries instructions by turns in both; returns the differences as sentences. */
export function compareZ80(tried: readonly Tried[], count: number, seed: number): string[] {
  const folder = mkdtempSync(join(tmpdir(), "rouse-cpu-"));
  try {
    const made = batch(tried, count, seed);
    const theirs = runSz80(made, folder);
    const ours = runOurs(made);
    const differences: string[] = [];
    for (let i = 0; i < count && differences.length < MOST_SHOWN; i++) {
      const at = RECORDS_AT + i * RECORD;
      const wrong = WORDS.map((name, word) => ({
        name,
        mine: wordAt(ours, at + 4 + 2 * word),
        other: wordAt(theirs, at + 4 + 2 * word),
        was: wordAt(made.image, at + 4 + 2 * word),
      })).filter(
        ({ name, mine, other }) =>
          ((mine ^ other) & (name === "AF" ? ~mayDiffer(tried[i % tried.length]!.text) : ~0)) !== 0,
      );
      if (wrong.length > 0)
        differences.push(
          `${tried[i % tried.length]!.text} (${Buffer.from(made.image.subarray(at, at + 4)).toString("hex")}): ${wrong
            .map(
              ({ name, mine, other, was }) =>
                `${name} ${mine.toString(16)}, sz80 ${other.toString(16)}, was ${was.toString(16)}`,
            )
            .join("; ")}`,
        );
    }
    if (Buffer.compare(ours.subarray(DATA, DATA_END), theirs.subarray(DATA, DATA_END)) !== 0)
      differences.push("memory differs");
    return differences;
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
