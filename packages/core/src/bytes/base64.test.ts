import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { base64 } from "./index.ts";

const ascii = (text: string): Uint8Array => Uint8Array.from(text, (each) => each.charCodeAt(0));

describe("base64", () => {
  it("gives the values that RFC 4648 section 10 prints", () => {
    const values = ["", "Zg==", "Zm8=", "Zm9v", "Zm9vYg==", "Zm9vYmE=", "Zm9vYmFy"];
    expect(values.map((_, length) => base64(ascii("foobar".slice(0, length))))).toEqual(values);
  });

  it("is what the host writes, over its own stretches too", () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 300 }), fc.constantFrom(0, 24_575, 24_576, 24_577), (bytes, before) => {
        const all = new Uint8Array(before + bytes.length).fill(0xa5);
        all.set(bytes, before);
        expect(base64(all) === Buffer.from(all).toString("base64")).toBe(true);
      }),
      { seed: 4648, numRuns: 60 },
    );
  });
});
