import { describe, expect, it } from "vitest";
import { cellAt } from "../cells.ts";
import { fitCell, intervalHistogram } from "./intervals.ts";
import { type ReadCells, readWithFixedWindow, readWithLoop, timeOfCell } from "./loop.ts";

const times = (...values: number[]): Float64Array => Float64Array.from(values);
const text = ({ cells }: ReadCells): string =>
  Array.from({ length: cells.length }, (_, cell) => cellAt(cells, cell)).join("");

describe("readWithLoop", () => {
  it("puts each transition into the cell whose middle is nearest", () => {
    expect(text(readWithLoop(times(0, 2, 5.1, 8.9, 11), 1, "MFM"))).toBe("101001000101");
  });

  it("follows a speed that changes, where single intervals would not", () => {
    const drifting = Float64Array.from({ length: 400 }, (_, i) => 2 * i * (1 + i / 8000));
    expect(text(readWithLoop(drifting, 1, "MFM"))).toBe(`${"10".repeat(399)}1`);
  });

  it("keeps the cells that follow in place when a transition is missing or one too many", () => {
    expect(text(readWithLoop(times(0, 1, 2, 4, 5, 6), 1, "FM"))).toBe("1110111");
    expect(text(readWithLoop(times(0, 1, 1.2, 2, 3), 1, "FM"))).toBe("1111");
  });

  it("moves the transition that lies nearest to the edge where two come too near for the code", () => {
    // The third belongs to cell 4 and came so late that it fell into 5, next to the one in 6.
    expect(text(readWithLoop(times(0, 2, 4.55, 6, 8), 1, "MFM"))).toBe("101010101");
    // The fourth belongs to cell 7 and came so early that it fell into 6, five cells before the next.
    expect(text(readWithLoop(times(0, 2, 4, 6.45, 11, 13), 1, "MFM"))).toBe("10101001000101");
  });

  it("drops one too many that lies in the middle of a cell", () => {
    expect(text(readWithLoop(times(0, 2, 4, 5.2, 8, 10), 1, "MFM"))).toBe("10101000101");
  });

  it("makes a long silence 64 cells at the most", () => {
    expect(readWithLoop(times(0, 1e9), 1, "FM").cells.length).toBe(65);
    expect(readWithFixedWindow(times(0, 1e9), 1).cells.length).toBe(65);
  });

  it("takes no transitions at all", () => {
    const read = readWithLoop(times(), 1, "FM");
    expect(read.cells.length).toBe(0);
    expect(timeOfCell(read, 5)).toBe(0);
  });
});

describe("readWithFixedWindow", () => {
  it("takes each interval to the nearest whole number of cells", () => {
    expect(text(readWithFixedWindow(times(0, 2.4, 5.2, 9.3), 1))).toBe("1010010001");
  });
});

describe("timeOfCell", () => {
  it("goes evenly from one transition to the next", () => {
    const read = readWithLoop(times(10, 12, 16), 1, "MFM");
    expect([0, 1, 2, 3, 4, 6].map((cell) => timeOfCell(read, cell))).toEqual([10, 11, 12, 13, 14, 16]);
  });
});

describe("intervals", () => {
  it("are counted by length, and those beyond the last bin apart", () => {
    const { counts, longer } = intervalHistogram(times(0, 1.5, 2, 5.5, 100), 1, 4);
    expect([[...counts], longer]).toEqual([[1, 1, 0, 1], 1]);
  });

  it("give the cell that makes them whole numbers of it", () => {
    const at: number[] = [0];
    for (let i = 0; i < 3000; i++) at.push(at.at(-1)! + 1.06 * (2 + ((i * 7919) % 3)));
    const { cellSeconds, fit } = fitCell(Float64Array.from(at), 1, "MFM", 0.1);
    expect(cellSeconds).toBeCloseTo(1.06, 2);
    expect(fit).toBeGreaterThan(0.95);
    expect(fitCell(times(0), 1, "MFM", 0.1)).toEqual({ cellSeconds: 1, fit: 0 });
  });
});
