/**
 * The pruned fault simulation against the plain one: for each fault of a seeded sample, the report that is worked out from the good
 * run's accesses is that of a run of its own from reset to the end. The reference is ours: the same CPU, the fault in its memory.
 */
import { FaultSimulator, keptBytes, type MachineFault, makeProgram, runPlainly } from "@rouse/core/diagnose";
import { memoryMapOf } from "@rouse/core/memory";
import { describe, expect, it } from "vitest";
import { someFaults } from "./faults.ts";
import { smallBench } from "./small.ts";

const SAMPLE = 36;

describe.each([
  ["6809", "march-c-", "eprom", 256],
  ["6809", "mats+", "memory", 1536],
  ["6502", "march-x", "eprom", 512],
  ["Z80", "march-c-", "eprom", 256],
] as const)("on a %s, %s from %s, pruned", (cpu, id, place, bytes) => {
  const bench = smallBench(cpu, bytes);
  const map = memoryMapOf(bench)!;
  const at = place === "memory" ? { at: 0 } : {};
  const program = makeProgram(bench, { tests: [id], over: ["main", "banks"], place, ...at });
  const simulator = new FaultSimulator(map, program, keptBytes(map, program));

  it("prints what a run of its own prints, with no fault and with faults of every class", () => {
    expect(simulator.report).toMatch(/END GOOD\r\n$/);
    expect(simulator.report).toBe(runPlainly(map, program, undefined, simulator.cycles * 2).report);
    const faults: MachineFault[] = [
      ...someFaults(SAMPLE / 2, "main", bytes, 1, 4000),
      ...someFaults(SAMPLE / 2, "window", 256, 2, 4000),
    ];
    let bad = 0;
    for (const fault of faults) {
      const pruned = simulator.simulate(fault);
      expect({ fault, ...pruned }).toEqual({ fault, ...simulator.plainly(fault) });
      if (pruned.report.endsWith("END BAD\r\n")) bad++;
    }
    expect(bad).toBeGreaterThan(SAMPLE / 3);
    // Not because everything was run plainly after all: that is left for what the program itself stands on.
    const { lookedUp, resumed } = simulator.effort;
    expect(lookedUp + resumed).toBeGreaterThanOrEqual(place === "eprom" && cpu !== "6502" ? SAMPLE : SAMPLE / 2);
  });
});
