// Our writers and readers of S-records and Intel HEX against objcopy (Debian package binutils), both ways.
import { fromIntelHex, fromSRecord, type Segment, toIntelHex, toSRecord } from "@rouse/core/bytes";
import { describe, expect, it } from "vitest";
import { bytesOf, inFolder, run, textOf } from "./reference.ts";

/** 700 bytes of every kind at an address that is no multiple of a record's length. */
const data = Uint8Array.from({ length: 700 }, (_, i) => (i * 97 + (i >> 3)) & 0xff);
const formats = [
  { name: "S-records", format: "srec", write: toSRecord, read: fromSRecord },
  { name: "Intel HEX", format: "ihex", write: toIntelHex, read: fromIntelHex },
];
const addresses = [0x0, 0x7ff3, 0xfd44, 0xfff9, 0x1fff5];

describe.each(formats)("our $name", ({ format, write, read }) => {
  it.each(addresses)("from address %i are read by objcopy as the bytes that were written", (address) => {
    const segments: Segment[] = [{ address, bytes: data }];
    inFolder({ "a.txt": write({ segments }) }, (folder) => {
      run("objcopy", "binutils", ["-I", format, "-O", "binary", "a.txt", "a.bin"], folder);
      expect(bytesOf(folder, "a.bin")).toEqual(data);
    });
  });

  it.each(addresses)("reader takes what objcopy writes at address %i", (address) => {
    inFolder({ "a.txt": write({ segments: [{ address: 0, bytes: data }] }) }, (folder) => {
      const move = ["--change-section-lma", `*+${address}`, "--change-section-vma", `*+${address}`];
      run("objcopy", "binutils", ["-I", format, "-O", format, ...move, "a.txt", "b.txt"], folder);
      expect(read(textOf(folder, "b.txt")).segments).toEqual([{ address, bytes: data }]);
    });
  });

  it("hands the start address over, both ways", () => {
    inFolder({ "a.txt": write({ segments: [{ address: 0x1000, bytes: data }], start: 0x1012 }) }, (folder) => {
      run("objcopy", "binutils", ["-I", format, "-O", "srec", "a.txt", "b.txt"], folder);
      expect(fromSRecord(textOf(folder, "b.txt")).start).toBe(0x1012);
      run("objcopy", "binutils", ["-I", format, "-O", "ihex", "a.txt", "c.txt"], folder);
      expect(fromIntelHex(textOf(folder, "c.txt")).start).toBe(0x1012);
    });
  });
});

it("names the Debian package where a reference program is missing", () => {
  expect(() => run("no-such-program", "some-package", [])).toThrow("install the Debian package some-package");
});
