import { describe, expect, it } from "vitest";
import { transfers } from "./reference.ts";

/** A part of the whole count, which `checks/transfer/soak.ts` runs. */
const EACH_WAY = 20;

describe("transfers with lrzsz 0.12.21 over pipes", () => {
  it("bring all bytes over both ways on a clean line, at the first attempt", async () => {
    const outcomes = await transfers(8, 0, 8);
    expect(outcomes.filter(({ result, attempts }) => result !== "whole" || attempts > 1)).toEqual([]);
    expect(outcomes.map(({ protocol }) => protocol)).toEqual(
      expect.arrayContaining(["xmodem", "xmodem-crc", "xmodem-1k", "ymodem"]),
    );
  });

  it(`bring all bytes over, ${EACH_WAY} each way, while bytes are dropped, doubled and changed`, async () => {
    const outcomes = await transfers(EACH_WAY, 4000, 40);
    expect(outcomes).toHaveLength(2 * EACH_WAY);
    expect(
      outcomes
        .filter(({ result }) => result !== "whole")
        .map((each) => `${each.result} ${each.seed} ${each.way} ${each.detail}`),
    ).toEqual([]);
    expect(outcomes.reduce((sum, { retries }) => sum + retries, 0)).toBeGreaterThan(5);
  }, 180_000);
});
