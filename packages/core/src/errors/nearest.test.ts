import { describe, expect, it } from "vitest";
import { nearest } from "./nearest.ts";

describe("nearest", () => {
  const keys = ["clock", "crystal", "divisor", "framing"];

  it.each([
    ["clok", "clock"],
    ["cystal", "crystal"],
    ["divsior", "divisor"],
    ["Framing", "framing"],
    ["crystals", "crystal"],
  ])("takes %s for %s", (word, meant) => {
    expect(nearest(word, keys)).toBe(meant);
  });

  it.each(["terminal", "", "xyz", "c".repeat(5000)])("says nothing where nothing is near", (word) => {
    expect(nearest(word, keys)).toBeUndefined();
  });

  it("prefers the fewest edits, and the first of equals", () => {
    expect(nearest("74LS24", ["74LS244", "74LS245", "74LS74"])).toBe("74LS244");
    expect(nearest("74LS245", ["74LS244", "74LS245"])).toBe("74LS245");
  });
});
