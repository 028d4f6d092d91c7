import { spawnSync } from "node:child_process";
import { closeSync, mkdtempSync, openSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { Cpu6502, PagedBus } from "@rouse/core/cpu";
import { readTable } from "../../packages/core/src/assemble/table.ts";
import { INSTRUCTIONS_6502 } from "../../packages/core/src/assemble/tables/6502.ts";
import { type Batch, batch, CALLS, POINTER, RECORD, RESULT, type Tried } from "./harness6502.ts";

interface Outcome {
  output: Uint8Array;
  cycles: number;
}

/** sim65 ends within the call of exit, before it counts that JSR. */
const UNCOUNTED = 6;

/** Runs a batch in Debian's sim65 (package cc65). */
function runSim65({ image, start, records }: Batch, folder: string): Outcome {
  // Header: name, version, CPU, page zero pointer to the parameter stack, load address, reset address.
  const header = [...Buffer.from("sim65"), 2, 0, POINTER, 0, 0, start & 0xff, start >> 8];
  const program = join(folder, "program");
  const input = join(folder, "records");
  writeFileSync(program, Buffer.concat([Uint8Array.from(header), image]));
  writeFileSync(input, records);
  const file = openSync(input, "r");
  try {
    const { error, status, stdout, stderr } = spawnSync("sim65", ["-c", program], {
      stdio: [file, "pipe", "pipe"],
      maxBuffer: 1 << 28,
    });
    if (error && "code" in error && error.code === "ENOENT")
      throw new Error("This check needs `sim65`: install the Debian package cc65.");
    if (error) throw error;
    if (status !== 0) throw new Error(`sim65 ended with ${status}: ${stderr}`);
    // The count of cycles is the last line of what it printed.
    const found = /(\d+) cycles\n$/.exec(stdout.toString("latin1"))!;
    return { output: stdout.subarray(0, stdout.length - found[0].length), cycles: Number(found[1]) };
  } finally {
    closeSync(file);
  }
}

/** The same in our CPU, with the same calls. */
function runOurs({ image, start, records }: Batch): Outcome {
  const memory = new Uint8Array(0x10000);
  memory.set(image);
  const bus = new PagedBus(memory);
  bus.mapMemory(0, 0xffff, 0);
  const cpu = new Cpu6502(bus);
  cpu.set("PC", start);
  const output: number[] = [];
  const word = (at: number) => memory[at]! | (memory[at + 1]! << 8);
  let taken = 0;
  for (;;) {
    cpu.step();
    if (cpu.pc < CALLS.read) continue;
    if (cpu.pc === CALLS.exit) return { output: Uint8Array.from(output), cycles: bus.clock - UNCOUNTED };
    const parameters = word(POINTER);
    const count = cpu.a | (cpu.x << 8);
    const buffer = word(parameters);
    memory[POINTER] = (parameters + 4) & 0xff;
    memory[POINTER + 1] = (parameters + 4) >> 8;
    let done = count;
    if (cpu.pc === CALLS.write) for (let i = 0; i < count; i++) output.push(memory[buffer + i]!);
    else {
      const part = records.subarray(taken, taken + count);
      memory.set(part, buffer);
      taken += part.length;
      done = part.length;
    }
    cpu.a = done & 0xff;
    cpu.x = done >> 8;
    cpu.pc = cpu.pull16() + 1;
  }
}

const NAMES = ["A", "X", "Y", "P", "S", "stack+1", "stack+2", "stack+3"];

/**
 * Every documented opcode. Three things are not tried, since sim65 2.19 has them wrong; 6502.test.ts checks them otherwise:
 * - ROL abs,X (3E): sim65 goes on in the middle of it, as if it had two bytes.
 * - `CMP (FF),Y`: sim65 takes the pointer's upper byte from 0100 and not from 0000.
 * - SBC in decimal mode: sim65 gives 77 for 17 − 99 with a borrow, where 17 is right.
 */
export const TRIED: readonly Tried[] = [...readTable<string>(INSTRUCTIONS_6502)]
  .flatMap(([mnemonic, modes]) => [...modes].map(([mode, { opcode }]) => ({ mnemonic, mode, opcode: opcode[0]! })))
  .filter(({ opcode }) => opcode !== 0x3e);

/** Tries one opcode `count` times in both; returns the differences as sentences. */
export function compare6502(tried: Tried, count: number, seed: number): string[] {
  const folder = mkdtempSync(join(tmpdir(), "rouse-cpu-"));
  try {
    const made = batch(tried, count, seed);
    const theirs = runSim65(made, folder);
    const ours = runOurs(made);
    const differences: string[] = [];
    const say = (text: string) => differences.push(`${tried.mnemonic} ${tried.mode}: ${text}`);
    if (ours.cycles !== theirs.cycles) say(`${ours.cycles} cycles in all, sim65 ${theirs.cycles}`);
    if (ours.output.length !== theirs.output.length) say(`${ours.output.length} bytes, sim65 ${theirs.output.length}`);
    for (let at = 0; at < ours.output.length && differences.length < 5; at++) {
      const difference = ours.output[at]! ^ theirs.output[at]!;
      if (difference === 0) continue;
      const which = Math.floor(at / RESULT);
      if (which >= count) say(`memory differs`);
      else {
        const record = made.records.subarray(which * RECORD, (which + 1) * RECORD);
        say(
          `${Buffer.from(record).toString("hex")}: ${NAMES[at % RESULT]} ${ours.output[at]!.toString(16)}, sim65 ${theirs.output[at]!.toString(16)}`,
        );
      }
    }
    return differences;
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
