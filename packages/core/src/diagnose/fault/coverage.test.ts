import { describe, expect, it } from "vitest";
import { marchOf } from "../march/march.ts";
import { faultsOf, faultText } from "./classes.ts";
import { coverageOf, isFound, runMarch, SINGLE_BITS } from "./coverage.ts";

describe("a march over a small memory", () => {
  it("passes where nothing is wrong, whatever was there before", () => {
    for (const down of [false, true])
      expect(runMarch(marchOf("march-c-"), SINGLE_BITS, undefined, Uint8Array.of(1, 0, 1, 1), down)).toBeUndefined();
  });

  it("says where it first saw a fault", () => {
    const march = marchOf("mats+");
    const miss = runMarch(march, SINGLE_BITS, { kind: "stuck", cell: 8, value: 1 }, new Uint8Array(4), false);
    expect(miss).toEqual({ background: 0, element: 1, operation: 0, word: 1, expected: 0, found: 1 });
  });

  it("counts a fault only when it is found from every start and in both directions of ⇕", () => {
    const rises = { kind: "transition", cell: 0, to: 0 } as const;
    expect(runMarch(marchOf("mats+"), SINGLE_BITS, rises, Uint8Array.of(1, 0, 0, 0), false)).toBeDefined();
    expect(isFound(marchOf("mats+"), SINGLE_BITS, rises)).toBe(false);
  });

  it("names the first fault that it misses", () => {
    const [coverage] = coverageOf(marchOf("mats+"), SINGLE_BITS, ["CFid"]);
    expect(coverage).toMatchObject({ faults: 48, found: 18 });
    expect(faultText(coverage!.missed!)).toBe("⟨↓;0⟩ 0.0 → 1.0");
  });

  it("knows as many faults as can be counted by hand", () => {
    const count = (...at: Parameters<typeof faultsOf>) => [...faultsOf(...at)].length;
    expect(count("SAF", 4, 8)).toBe(4 * 8 * 2);
    expect(count("CFid", 2, 2)).toBe(4 * 3 * 4);
    expect(count("BF", 2, 2)).toBe(6 * 2);
    expect(count("AF", 3, 1)).toBe(3 * 2 + 3 * 2 * 7);
  });
});
