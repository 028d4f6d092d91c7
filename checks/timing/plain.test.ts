/** The event simulation against a model that looks at the machine every microsecond, on random benches. */
import { simulate } from "@rouse/core/timing";
import { describe, expect, it } from "vitest";
import { plainTime } from "./plain.ts";
import { randomBench } from "./random.ts";

const BENCHES = 1000;

describe("the event simulation", () => {
  it(`takes the same time to the microsecond as stepping through it, on ${BENCHES} random benches`, () => {
    const differing: string[] = [];
    let longest = 0;
    for (let seed = 1; seed <= BENCHES; seed++) {
      const { machine, ops } = randomBench(seed);
      const { time } = simulate(machine, ops);
      const plain = plainTime(machine, ops);
      longest = Math.max(longest, plain);
      if (Math.abs(time - plain) > 1e-3) differing.push(`bench ${seed}: ${time} µs, stepped ${plain} µs`);
    }
    expect(differing).toEqual([]);
    expect(longest).toBeGreaterThan(10_000);
  });
});
