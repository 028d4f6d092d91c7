import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { joinSegments, rawImage } from "./segments.ts";

const at = (address: number, ...bytes: number[]) => ({ address, bytes: Uint8Array.from(bytes) });

describe("joinSegments", () => {
  it("joins neighbours, drops empty ones and lets the later win", () => {
    expect(joinSegments([at(4, 1, 2), at(6, 3), at(9), at(0, 7)])).toEqual([at(0, 7), at(4, 1, 2, 3)]);
    expect(joinSegments([at(0, 1, 1, 1, 1), at(1, 2, 2)])).toEqual([at(0, 1, 2, 2, 1)]);
  });

  it("holds what a memory would hold that was written in that order", () => {
    const segment = fc.record({ address: fc.nat(40), bytes: fc.uint8Array({ maxLength: 12 }) });
    fc.assert(
      fc.property(fc.array(segment, { maxLength: 12 }), (list) => {
        const memory = new Map<number, number>();
        for (const { address, bytes } of list) for (const [i, byte] of bytes.entries()) memory.set(address + i, byte);
        const joined = joinSegments(list);
        const held = joined.flatMap(({ address, bytes }) =>
          Array.from(bytes, (byte, i) => [address + i, byte] as const),
        );
        expect(held).toEqual([...memory].sort(([a], [b]) => a - b));
        for (let i = 1; i < joined.length; i++)
          expect(joined[i]!.address).toBeGreaterThan(joined[i - 1]!.address + joined[i - 1]!.bytes.length);
      }),
    );
  });
});

describe("rawImage", () => {
  it("fills between, before and after", () => {
    expect([...rawImage([at(2, 1), at(4, 2)])]).toEqual([1, 0xff, 2]);
    expect([...rawImage([at(2, 1), at(4, 2)], { fill: 0, from: 1, to: 7 })]).toEqual([0, 1, 0, 2, 0, 0]);
    expect([...rawImage([at(2, 1, 2, 3)], { from: 3, to: 4 })]).toEqual([2]);
    expect(rawImage([])).toHaveLength(0);
  });

  it("refuses an image of more than 16 MiB, and one that ends before it begins", () => {
    expect(() => rawImage([at(0, 1), at(0xffffffff, 1)])).toThrow("not between 0 and 16 MiB");
    expect(() => rawImage([], { from: 5, to: 4 })).toThrow("not between 0 and 16 MiB");
  });
});
