import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { readBench } from "@rouse/core/bench";
import { loadCatalogue } from "@rouse/core/catalogue";
import { makePrograms, type ProgramOptions, readReport, runProgram, type TestProgram } from "@rouse/core/diagnose";
import { createRehearsal } from "@rouse/core/rehearse";
import { describe, expect, it } from "vitest";
import { demoImages } from "../../demo/images.ts";
import { demoBench, type Job } from "../rehearse/demo-bench.ts";

/**
 * Test programs of the demo's benches in the whole machine: real port, line, terminal, timers, and a bad cell. The room `rehearse`
 * has its own model of each part, so what passes here does not rest on the small board that the room `diagnose` runs programs on.
 */

const images = demoImages(join(dirname(fileURLToPath(import.meta.url)), "../../demo"));

/** A bench's ROM files with a test program in the monitor's place. */
function romsWith(job: Job, program: TestProgram): Map<string, Uint8Array> {
  const regions = demoBench(job).computer!.regions.filter((each) => each.kind === "rom");
  return new Map(
    regions.map(({ file, from, to }) => {
      const bytes = new Uint8Array(to - from + 1).fill(0xff);
      for (const { address, bytes: own } of program.segments)
        for (const [index, byte] of own.entries()) {
          const at = address + index - from;
          if (at >= 0 && at < bytes.length) bytes[at] = byte;
        }
      return [file!, bytes];
    }),
  );
}

const QUICK: ProgramOptions = {
  tests: ["mats+", "address", "banks", "latches", "translation", "rom", "timer", "port"],
  over: ["main"],
  seconds: 0.05,
};
const LONGEST = 120;

describe.each<Job>(["mended", "second-machine"])("the test programs of %s", (job) => {
  const bench = demoBench(job);
  const programs = makePrograms(bench, QUICK);
  const disks = new Map(bench.images.map(({ file }) => [file, images.get(`${job}/${file}`)!]));

  it("come to a good end on the whole machine, in the time that was foretold", () => {
    for (const program of programs) {
      const machine = createRehearsal(bench, { roms: romsWith(job, program), images: disks });
      expect(machine.runUntilShown("END GOOD\r\n", LONGEST)).toBe("until");
      expect(readReport(machine.received())).toMatchObject({ id: program.id, end: "good", findings: [], unread: [] });
      expect(machine.screen().faults).toBe(0);
      const { seconds } = runProgram(bench, program);
      expect(Math.abs(machine.seconds / seconds - 1)).toBeLessThan(0.02);
    }
  });
});

/** A Z80 with timers of some kind, and a port and terminal to tell what they do. */
const Z80 = (devices: string) => `rouse: 1
name: counters
computer:
  name: Larkfield Z
  cpu: { part: Z80A, clock: 2 MHz }
  memory:
    monitor: { kind: rom, at: $0000, size: 4 KiB, chips: 2732, file: monitor.rom }
    main: { kind: ram, at: $8000, size: 32 KiB }
  ${devices}
ports:
  console: { uart: 8251, at: $10, clock: 1.8432 MHz, divide: 12, ratio: 16, format: 8N1, connector: DB-25, role: DCE, levels: V.28 }
terminals:
  desk: { class: screen-80-cursor, rate: 9600 bit/s, format: 8N1, connector: DB-25, role: DTE, levels: V.28 }
cables:
  lead: { kind: straight, from: console, to: desk }
`;

describe.each([
  ["counter-timers", "timers: { pace: { part: Z80-CTC, at: $40 }, beat: { part: Z80-CTC, at: $50 } }", 8],
  ["a tick in mode 1", "tick: { at: $20, every: 20000, interrupts: true }", 1],
  ["a 6522 in mode 1", "timers: { pulses: { part: 6522, at: $60 } }", 1],
] as const)("the timer test of a Z80 with %s", (_name, devices, tests) => {
  const { bench, issues } = readBench(Z80(devices), loadCatalogue());

  it("comes to a good end on the whole machine, in the time that was foretold", () => {
    expect(issues).toEqual([]);
    const programs = makePrograms(bench!, { tests: ["timer"] });
    expect(programs.flatMap((each) => each.tests)).toHaveLength(tests);
    for (const program of programs) {
      const rom = new Uint8Array(0x1000).fill(0xff);
      for (const { address, bytes } of program.segments) rom.set(bytes, address);
      const machine = createRehearsal(bench!, { roms: new Map([["monitor.rom", rom]]), images: new Map() });
      expect(machine.runUntilShown("END GOOD\r\n", LONGEST)).toBe("until");
      expect(readReport(machine.received())).toMatchObject({ id: program.id, end: "good", findings: [], unread: [] });
      const { seconds } = runProgram(bench!, program);
      expect(Math.abs(machine.seconds / seconds - 1)).toBeLessThan(0.02);
    }
  });
});
