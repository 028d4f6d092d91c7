import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
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
