import { type Bench, readBench } from "@rouse/core/bench";
import { loadCatalogue } from "@rouse/core/catalogue";
import { FaultSimulator, type MachineFault, makeProgram, runPlainly } from "@rouse/core/diagnose";
import { memoryMapOf } from "@rouse/core/memory";
import { someFaults } from "../checks/diagnose/faults.ts";
import type { Measured } from "./types.ts";

/**
 * Fault simulation of a real test program: user time of the pruned simulation, the recording of its good run included, against one run
 * a fault. Both give the same reports, which is checked here for the faults that are run both ways.
 */

const FAULTS = 720;
/** Faults that are run plainly; the others would take as long each. */
const PLAIN = 8;
const BYTES = 8192;

function bench(): Bench {
  const { bench: read, issues } = readBench(
    `rouse: 1
name: speed
computer:
  cpu: { part: MC68A09E, clock: 1.5 MHz }
  memory:
    main: { kind: ram, at: $0000, size: ${BYTES} bytes, chips: 6264 }
    monitor: { kind: rom, at: $E000, size: 7936 bytes, file: monitor.rom, chips: 2764 }
    ports: { kind: io, at: $FF00, size: 128 bytes }
    vectors: { kind: rom, at: $FF80, size: 128 bytes, file: vectors.rom, shares: monitor, offset: $1F80 }
ports:
  console: { uart: MC6850, at: $FF00, clock: 1.8432 MHz, divide: 48, ratio: 16, format: 8N1, connector: DB-25, role: DTE, levels: V.28 }
`,
    loadCatalogue(),
  );
  if (!read) throw new Error(issues.map((each) => each.sentence).join("; "));
  return read;
}

const seconds = (what: () => void): number => {
  const before = process.cpuUsage();
  what();
  return process.cpuUsage(before).user / 1e6;
};

export async function run(): Promise<readonly Measured[]> {
  const small = bench();
  const map = memoryMapOf(small)!;
  const program = makeProgram(small, { tests: ["march-c-"], over: ["main"] });
  const faults = someFaults(FAULTS, "main", BYTES, 1, 20_000);
  const reports = new Map<MachineFault, string>();
  let cycles = 0;
  const pruned = seconds(() => {
    const simulator = new FaultSimulator(map, program);
    cycles = simulator.cycles;
    for (const fault of faults) reports.set(fault, simulator.simulate(fault).report);
  });
  const some = Array.from({ length: PLAIN }, (_, index) => faults[index * (FAULTS / PLAIN + 1)]!);
  const plain = seconds(() => {
    for (const fault of some) {
      const { report } = runPlainly(map, program, fault, cycles * 4);
      if (report !== reports.get(fault)) throw new Error(`another report: ${JSON.stringify(fault)}`);
    }
  });
  const ratio = plain / some.length / (pruned / FAULTS);
  return [
    { name: "pruned fault simulation over one run a fault", value: ratio, unit: "×", aim: "≥ 20", met: ratio >= 20 },
    { name: "faults a second, pruned", value: FAULTS / pruned, unit: "/s", aim: "none", met: true },
  ];
}
