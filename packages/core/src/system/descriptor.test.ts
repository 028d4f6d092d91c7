import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { buildDescriptor, diskTable, readDescriptor, readLine, terminalTable } from "./descriptor.ts";
import { findModules, readModule } from "./module.ts";

const read = (bytes: Uint8Array) => readDescriptor(bytes, readModule(bytes, 0));

describe("device descriptors", () => {
  it("give back a terminal's address, names, rows, rate and frame", () => {
    const bytes = buildDescriptor({
      name: "TERM",
      fileManager: "chars",
      driver: "serial",
      address: 0xeff0,
      table: terminalTable({ rows: 24, control: 0x15, rate: 4 }),
    });
    expect(findModules(bytes)[0]!.faults).toEqual([]);
    expect(read(bytes)).toMatchObject({
      name: "TERM",
      fileManager: "chars",
      driver: "serial",
      address: 0xeff0,
      beyond16Bits: false,
      table: {
        kind: "terminal",
        rows: 24,
        rate: 2400,
        frame: "8N1",
        clockRatio: 16,
        controlByte: 0x15,
        rateByte: 4,
        flowControl: "XON/XOFF",
      },
    });
  });

  it("give back a disk's tracks, sides, sectors and step code", () => {
    const table = diskTable({ drive: 1, stepCode: 2, tracks: 77, sides: 2, sectorsPerTrack: 26 });
    const bytes = buildDescriptor({ name: "D1", fileManager: "blocks", driver: "floppy", address: 0x01f000, table });
    expect(read(bytes)).toMatchObject({
      beyond16Bits: true,
      table: { kind: "disk", drive: 1, stepCode: 2, tracks: 77, sides: 2, sectorsPerTrack: 26, density: "double" },
    });
  });

  it("leave out what a short table does not hold", () => {
    const bytes = buildDescriptor({
      name: "T1",
      fileManager: "chars",
      driver: "serial",
      address: 0xff68,
      table: Uint8Array.of(0, 1),
    });
    expect(read(bytes)!.table).toEqual({ kind: "terminal", upperCaseOnly: true });
  });

  it("take a top address byte of FF for a 16-bit address", () => {
    const bytes = buildDescriptor({
      name: "T1",
      fileManager: "a",
      driver: "b",
      address: 0xffff68,
      table: new Uint8Array(1),
    });
    expect(read(bytes)!.beyond16Bits).toBe(false);
  });

  it("take any bytes for a table and any damage", () => {
    const table = fc.uint8Array({ minLength: 0, maxLength: 40 });
    fc.assert(
      fc.property(table, fc.nat(80), fc.nat(255), (wish, at, value) => {
        const bytes = buildDescriptor({ name: "X", fileManager: "a", driver: "b", address: 0, table: wish });
        expect(read(bytes)!.tableSize).toBe(wish.length);
        bytes[at % bytes.length] = value;
        const again = read(bytes);
        expect(again === null || typeof again.tableSize === "number").toBe(true);
      }),
      { seed: 6809 },
    );
  });
});

describe("readLine", () => {
  it.each([
    [0x00, 0x06, { coding: "rate code", rate: 9600, frame: "8N1" }],
    [0x60, 0x24, { coding: "rate code", rate: 2400, frame: "7E1" }],
    [0x20, 0xa2, { coding: "rate code", rate: 600, frame: "7O2" }],
    [0x09, 0x03, { coding: "rate code and 6850 control word", rate: 1200, frame: "7E1", clockRatio: 16 }],
    [0x0b, 0x1e, { coding: "6551 registers", rate: 9600, frame: "8N1" }],
    [0x6b, 0x3a, { coding: "6551 registers", rate: 2400, frame: "7E1" }],
    [0x00, 0x0f, { coding: "rate code", frame: "8N1" }],
  ])("reads control %i and rate %i", (control, rate, settings) => {
    expect(readLine(control, rate)).toEqual(settings);
  });
});
