import { readFileSync } from "node:fs";
import { join } from "node:path";
import { type Bench, readBench } from "@rouse/core/bench";
import { loadCatalogue } from "@rouse/core/catalogue";
import { createRehearsal, type Rehearsal, type RehearsalFiles } from "@rouse/core/rehearse";
import { demoImages } from "../demo/images.ts";
import type { Measured } from "./types.ts";

/**
 * Seconds of the machine a second of user time, with terminal, line and drive in the loop: true speed is 1. The median of
 * whole runs from power-on; the first of them also pays for compiling.
 */

const RUNS = 11;
const DEMO = "demo";

function demo(job: string): { bench: Bench; files: RehearsalFiles } {
  const { bench } = readBench(readFileSync(join(DEMO, job, "bench.yaml"), "utf8"), loadCatalogue());
  if (!bench?.computer) throw new Error(`the bench of ${job} is not sound`);
  const images = demoImages(DEMO);
  const file = (name: string) => [name, images.get(`${job}/${name}`)!] as const;
  return {
    bench,
    files: {
      roms: new Map(bench.computer.regions.flatMap((each) => (each.file === undefined ? [] : [file(each.file)]))),
      images: new Map(bench.images.map((each) => file(each.file))),
    },
  };
}

function speed(job: string, go: (machine: Rehearsal) => void): number {
  const { bench, files } = demo(job);
  const rates: number[] = [];
  for (let run = 0; run < RUNS; run++) {
    const machine = createRehearsal(bench, files);
    const before = process.cpuUsage();
    go(machine);
    rates.push(machine.seconds / (process.cpuUsage(before).user / 1e6));
  }
  return rates.sort((a, b) => a - b)[RUNS >> 1]!;
}

const atLeast = (name: string, value: number, aim: number): Measured => ({
  name,
  value,
  unit: "× true speed",
  aim: `≥ ${aim}`,
  met: value >= aim,
});

const came = (ending: string): void => {
  if (ending !== "until") throw new Error("the demo did not come to its prompt");
};

export async function run(): Promise<readonly Measured[]> {
  const login = speed("mended", (machine) => came(machine.runUntilShown("login: ", 60)));
  const session = speed("mended", (machine) => {
    came(machine.runUntilShown("login: ", 60));
    machine.type("visitor\r");
    came(machine.runUntilShown("tern: ", 60, machine.screen().received));
    machine.type("primes 3000\r");
    machine.run({ seconds: 30 });
  });
  const second = speed("second-machine", (machine) => {
    came(machine.runUntilShown("FILES\r\n", 60));
    came(machine.runUntilShown("next: ", 60, machine.screen().received));
  });
  return [
    atLeast("6809 demo from power-on to its login", login, 40),
    atLeast("the same, then half a minute of a program that computes and prints", session, 40),
    atLeast("Z80 demo from power-on to its prompt", second, 40),
  ];
}
