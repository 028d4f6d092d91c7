import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { asciiBytes } from "../bytes/index.ts";
import { type Control, eachControl } from "./controls.ts";

const scan = (text: string | Uint8Array, within: "text" | "program" = "text"): Control[] => {
  const found: Control[] = [];
  eachControl(typeof text === "string" ? asciiBytes(text) : text, within, (each) => found.push(each));
  return found;
};

describe("eachControl", () => {
  it("names sequences and their places", () => {
    expect(scan("ab\x1b[7mC\x1b[0m\x1bE\x1b[12;40H")).toEqual([
      { name: "SGR", offset: 2, length: 4 },
      { name: "SGR", offset: 7, length: 4 },
      { name: "NEL", offset: 11, length: 2 },
      { name: "CUP", offset: 13, length: 8 },
    ]);
  });

  it("leaves private parameters, unknown finals and cut sequences alone", () => {
    expect(scan("\x1b[?25h \x1b[3z \x1b[12")).toEqual([]);
  });

  it("asks more of two bytes in a program", () => {
    expect(scan("\x1b[H\x1b[L\x1b[2L\x1bE", "program").map((each) => each.name)).toEqual(["CUP", "IL"]);
    expect(scan(Uint8Array.of(0x1b, 0x5b, 0x32, 0xca), "program").map((each) => each.name)).toEqual(["ED"]);
  });

  it("takes any bytes and stays inside them", () => {
    fc.assert(
      fc.property(fc.array(fc.constantFrom(0x1b, 0x5b, 0x31, 0x3b, 0x48, 0x00, 0xff), { maxLength: 60 }), (list) => {
        for (const { offset, length } of scan(Uint8Array.from(list)))
          expect(offset + length).toBeLessThanOrEqual(list.length);
      }),
      { seed: 48 },
    );
  });
});
