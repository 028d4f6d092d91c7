/** Codes in device descriptors and texts against the data sheets and the standard that define them. */

import { asciiBytes } from "@rouse/core/bytes";
import { eachControl, readLine } from "@rouse/core/system";
import { describe, expect, it } from "vitest";

describe("6850 control words, MC6850 data sheet, bits 4 to 2", () => {
  it.each([
    ["7E2", 0],
    ["7O2", 1],
    ["7E1", 2],
    ["7O1", 3],
    ["8N2", 4],
    ["8N1", 5],
    ["8E1", 6],
    ["8O1", 7],
  ])("frame %s from the word select %i", (frame, select) => {
    expect(readLine((select << 2) | 1, 4)).toMatchObject({ frame, clockRatio: 16, rate: 2400 });
    expect(readLine((select << 2) | 2, 4)).toMatchObject({ frame, clockRatio: 64 });
  });

  it("$15 is 8N1 with the clock divided by 16, as the handbook of the part writes it after a reset with $03", () => {
    expect(readLine(0x15, 6)).toMatchObject({ frame: "8N1", clockRatio: 16 });
  });
});

describe("6551 control register, bits 3 to 0 (rates from memory; F is 19,200 in the data sheet)", () => {
  it.each([
    [0x16, 300],
    [0x18, 1200],
    [0x1a, 2400],
    [0x1c, 4800],
    [0x1e, 9600],
    [0x1f, 19200],
  ])("control %i gives %i bit/s", (control, rate) => {
    expect(readLine(0x09, control)).toEqual({ coding: "6551 registers", rate, frame: "8N1" });
  });
});

describe("control functions, ECMA-48 5th edition, table 3 and clause 8.3", () => {
  it.each([
    ["ICH", "@"],
    ["CUU", "A"],
    ["CUD", "B"],
    ["CUF", "C"],
    ["CUB", "D"],
    ["CUP", "H"],
    ["ED", "J"],
    ["EL", "K"],
    ["IL", "L"],
    ["DL", "M"],
    ["DCH", "P"],
    ["HVP", "f"],
    ["TBC", "g"],
    ["SM", "h"],
    ["RM", "l"],
    ["SGR", "m"],
    ["DSR", "n"],
  ])("%s has the final byte %s", (name, final) => {
    const found: string[] = [];
    eachControl(asciiBytes(`\x1b[1${final}`), "text", (each) => found.push(each.name));
    expect(found).toEqual([name]);
  });
});
