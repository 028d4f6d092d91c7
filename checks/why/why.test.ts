import { describe, expect, it } from "vitest";
import { compare } from "./simulate.ts";

/**
 * The search against a fixed checklist, in simulation; the bench answers out of the same model, save where it is told
 * otherwise. A thousand faults, with answers that are off: node scripts/run.mjs checks/why/soak.ts
 */
describe("single faults in the demo benches", () => {
  it("are found in a median of 6 tests at most, well below a checklist that leaves out useless tests", () => {
    const found = compare(["mended", "second-machine"], 60, 0, 7, ["proposed", "useful checklist"]);
    const [proposed, checklist] = [found.get("proposed")!, found.get("useful checklist")!];
    expect(proposed.median).toBeLessThanOrEqual(6);
    expect(proposed.right).toBeGreaterThan(0.8);
    expect(checklist.median).toBeGreaterThanOrEqual(1.5 * proposed.median);
    expect(checklist.minutes).toBeGreaterThanOrEqual(1.5 * proposed.minutes);
  });

  it("are still found where the bench answers otherwise than the model believes", () => {
    const proposed = compare(["mended", "second-machine"], 40, 0.5, 11, ["proposed"]).get("proposed")!;
    expect(proposed.median).toBeLessThanOrEqual(10);
    expect(proposed.right).toBeGreaterThan(0.65);
  });
});
