import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { roundPlaces } from "./canvas.ts";
import { moved, within, zoomed } from "./use-stretch.ts";

const number = (min: number, max: number) => fc.double({ min, max, noNaN: true });

describe("a stretch", () => {
  it("stays within the whole and no shorter than the least, whatever is done to it", () => {
    fc.assert(
      fc.property(
        number(-5000, 5000),
        number(0.001, 5000),
        number(0.01, 100),
        number(0, 1000),
        (from, span, factor, at) => {
          const start = within({ from, span }, 1000, 10);
          for (const { from: left, span: wide } of [
            start,
            zoomed(start, factor, at, 1000, 10),
            moved(start, at, at + 5, 1000, 10),
          ]) {
            expect(left).toBeGreaterThanOrEqual(0);
            expect(wide).toBeGreaterThanOrEqual(10);
            expect(left + wide).toBeLessThanOrEqual(1000 + 1e-9);
          }
        },
      ),
      { seed: 3 },
    );
  });

  it("keeps the point under the cursor where it is, as far as the ends allow", () => {
    const near = zoomed({ from: 100, span: 400 }, 0.5, 200, 1000, 10);
    expect((200 - near.from) / near.span).toBeCloseTo(0.25);
    expect(zoomed({ from: 0, span: 1000 }, 1e-9, 500, 1000, 10).span).toBe(10);
  });

  it("moves no farther than it takes to show a place", () => {
    expect(moved({ from: 100, span: 100 }, 120, 130, 1000, 10)).toEqual({ from: 100, span: 100 });
    const after = moved({ from: 100, span: 120 }, 300, 310, 1000, 10);
    expect(after.from + after.span).toBeCloseTo(320);
    expect(moved({ from: 500, span: 120 }, 300, 310, 1000, 10).from).toBeCloseTo(290);
  });
});

describe("places on an axis", () => {
  it("are round and few", () => {
    expect(roundPlaces(0, 10, 5)).toEqual([0, 2, 4, 6, 8, 10]);
    expect(roundPlaces(0.13, 0.31, 4).map((each) => Number(each.toFixed(3)))).toEqual([0.15, 0.2, 0.25, 0.3]);
    expect(roundPlaces(5, 5, 4)).toEqual([]);
  });
});
