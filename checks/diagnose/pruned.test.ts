/**
 * The pruned fault simulation against the plain one: for each fault of a seeded sample, the report that is worked out from the good
 * run's accesses is that of a run of its own from reset to the end. The reference is ours: the same CPU, the fault in its memory.
 */
import { FaultSimulator, type MachineFault, makeProgram, marchOf, runPlainly } from "@rouse/core/diagnose";
import { memoryMapOf } from "@rouse/core/memory";
import { describe, expect, it } from "vitest";
import { someFaults } from "./faults.ts";
import { smallBench } from "./small.ts";

const bench = smallBench();
const map = memoryMapOf(bench)!;
const SAMPLE = 36;

describe.each(["march-c-", "march-b"])("%s, pruned", (id) => {
  const simulator = new FaultSimulator(map, makeProgram(bench, { tests: [id], over: ["main", "banks"] }));

  it("has a good run that ends well", () => {
    expect(simulator.report).toContain(`A: ${marchOf(id).title.toUpperCase().replaceAll("−", "-")} OVER MAIN MEMORY`);
    expect(simulator.report).toMatch(/END GOOD\r\n$/);
    expect(simulator.report).toBe(runPlainly(map, simulator.program, undefined, simulator.cycles * 2).report);
  });

  it("prints what a run of its own prints, for faults of every class", () => {
    const faults: MachineFault[] = [
      ...someFaults(SAMPLE / 2, "main", 256, 1, 4000),
      ...someFaults(SAMPLE / 2, "window", 256, 2, 4000),
    ];
    let bad = 0;
    for (const fault of faults) {
      const pruned = simulator.simulate(fault);
      expect({ fault, ...pruned }).toEqual({ fault, ...simulator.plainly(fault) });
      if (pruned.report.endsWith("END BAD\r\n")) bad++;
    }
    expect(bad).toBeGreaterThan(SAMPLE / 3);
    // Not because everything was run plainly after all.
    expect(simulator.effort.lookedUp + simulator.effort.resumed).toBe(SAMPLE);
  });
});
