import { describe, expect, it } from "vitest";
import { ALLOWED } from "./allowed.ts";
import { compare } from "./compare.ts";

/** A part of the whole count, which `checks/terminal/soak.ts` runs. */
const STREAMS = 3000;

describe("the screen model against @xterm/headless 6.0.0", () => {
  it(`agrees on ${STREAMS} random streams but for the differences listed`, async () => {
    const { streams, agreed, allowed, differ } = await compare(0, STREAMS);
    expect(differ.map(({ seed, stream }) => `${seed}: ${stream}`)).toEqual([]);
    expect(streams).toBe(STREAMS);
    // The list must stay the exception, and no entry may take over.
    expect(agreed / streams).toBeGreaterThan(0.85);
    for (const { name } of ALLOWED) expect((allowed.get(name) ?? 0) / streams).toBeLessThan(0.07);
  });
});
