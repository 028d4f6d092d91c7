import { buildSegmentList, OWNER, openBest, type TreeEntry } from "@rouse/core/volume";
import { describe, expect, it } from "vitest";
import { attributeBits, attributesInLetters } from "../../packages/core/src/volume/segment-list/fields.ts";
import { bootstrapSectors, readIdentification } from "../../packages/core/src/volume/segment-list/index.ts";

/**
 * The segment-list volume against `6809 system programmer's manual, January 1983`: identification sector, allocation
 * map, file descriptor and directory entry at the manual's offsets, looked up byte by byte and not through our reader.
 */

const file = (path: string, length: number, wishes?: TreeEntry["wishes"]): TreeEntry => ({
  path,
  type: "file",
  bytes: Uint8Array.from({ length }, (_, index) => index & 0xff),
  ...(wishes ? { wishes } : {}),
});

const image = buildSegmentList(
  [file("Boot", 1500), file("texts/readme", 600, { segments: 2, attributes: "S PE W R" })],
  {
    tracks: 35,
    sides: 1,
    sectors: 18,
    clusterSectors: 1,
    name: "Tern",
    owner: 0x0102,
    id: 0x1234,
    created: "1983-01-15 12:30",
    bootstrap: "Boot",
  },
);

/** `length` bytes at an offset, as hex digits. */
const field = (at: number, length: number): string =>
  Array.from(image.subarray(at, at + length), (byte) => byte.toString(16).toUpperCase().padStart(2, "0")).join(" ");
const number = (at: number, length: number): number => Number(`0x${field(at, length).replaceAll(" ", "")}`);
const sectorOf = (lsn: number): number => lsn * 256;

describe("the identification sector (6809 system programmer's manual, January 1983)", () => {
  it("has 35 × 18 × 1 = 630 sectors as 00 02 76 and a map of 00 4F bytes (worked from the manual's rule)", () => {
    expect(35 * 18 * 1).toBe(0x000276);
    expect(Math.ceil(630 / 8)).toBe(0x4f);
    expect(field(0x00, 3)).toBe("00 02 76");
    expect(field(0x04, 2)).toBe("00 4F");
    expect(image.length).toBe(630 * 256);
  });

  it.each([
    ["sectors per track", 0x03, "12"],
    ["sectors per cluster", 0x06, "00 01"],
    ["owner", 0x0b, "01 02"],
    ["volume number, at 0E where the print shows 05", 0x0e, "12 34"],
    ["format: one side, double density, 48 tpi", 0x10, "02"],
    ["sectors per track again", 0x11, "00 12"],
    ["bootstrap size", 0x18, "05 DC"],
    ["creation date: year, month, day, hour, minute (years since 1900 from memory)", 0x1a, "53 01 0F 0C 1E"],
    ["name with bit 7 of the last character set", 0x1f, "54 65 72 EE"],
  ])("has its %s at offset %i", (_, at, bytes) => {
    expect(field(at, bytes.split(" ").length)).toBe(bytes);
  });

  it("is read with the same meaning", () => {
    expect(readIdentification(image)).toMatchObject({
      total: 630,
      sectorsPerTrack: 18,
      mapBytes: 79,
      clusterSectors: 1,
      owner: 0x0102,
      id: 0x1234,
      twoSided: false,
      doubleDensity: true,
      narrowTracks: false,
      created: "1983-01-15 12:30",
      name: "Tern",
    });
  });

  it("states two sides in bit 0 and 96 tpi in bit 2 of the format", () => {
    const wide = buildSegmentList([], { tracks: 80, sides: 2, sectors: 16, doubleDensity: false });
    expect(wide[0x10]).toBe(0b101);
  });
});

describe("the allocation map (6809 system programmer's manual, January 1983)", () => {
  it("is sector 1, a bit set for each allocated sector and for those that do not exist", () => {
    const { volume } = openBest(image);
    // Bit 7 of the first byte is cluster 0: from memory, the manual does not say.
    for (let lsn = 0; lsn < 630; lsn++)
      expect((image[256 + (lsn >> 3)]! >> (7 - (lsn & 7))) & 1, `sector ${lsn}`).toBe(
        volume.owners[lsn] === OWNER.free ? 0 : 1,
      );
    expect(image[256 + 78]! & 0b11).toBe(0b11);
  });

  it("has 4096 bits at most, so that larger disks take clusters of more sectors", () => {
    const large = buildSegmentList([], { tracks: 80, sides: 2, sectors: 30 });
    expect(readIdentification(large)).toMatchObject({ total: 4800, clusterSectors: 2, mapBytes: 300 });
  });
});

describe("descriptors and directories (6809 system programmer's manual, January 1983)", () => {
  const root = sectorOf(number(0x08, 3));
  const directory = sectorOf(number(root + 0x10, 3));

  it("finds the root directory by 08, its descriptor's segments from 10 on, its entries 29 + 3 bytes long", () => {
    expect(field(root, 1)).toBe("BF"); // D PE PW PR E W R
    expect(number(root + 0x09, 4)).toBe(4 * 32);
    expect(field(directory, 3)).toBe("2E AE 00");
    expect(field(directory + 32, 2)).toBe("AE 00");
    expect(sectorOf(number(directory + 29, 3))).toBe(root);
    expect(sectorOf(number(directory + 32 + 29, 3))).toBe(root);
    expect(field(directory + 64, 4)).toBe("42 6F 6F F4");
  });

  it("describes a file: attributes, owner, modified, links, size, created, segments of LSN and count, ended by zero", () => {
    const texts = sectorOf(number(directory + 96 + 29, 3));
    const inTexts = sectorOf(number(texts + 0x10, 3));
    expect(sectorOf(number(inTexts + 29, 3))).toBe(root); // parent
    const readme = sectorOf(number(inTexts + 64 + 29, 3));
    expect(field(readme + 0x00, 1)).toBe("63"); // S PE W R
    expect(field(readme + 0x01, 2)).toBe("01 02");
    expect(field(readme + 0x03, 5)).toBe("53 01 0F 0C 1E");
    expect(field(readme + 0x08, 1)).toBe("01");
    expect(field(readme + 0x09, 4)).toBe("00 00 02 58");
    expect(field(readme + 0x0d, 3)).toBe("53 01 0F");
    expect(number(readme + 0x13, 2) + number(readme + 0x18, 2)).toBe(3);
    expect(field(readme + 0x1a, 5)).toBe("00 00 00 00 00");
    expect(field(sectorOf(number(readme + 0x10, 3)), 4)).toBe("00 01 02 03");
  });

  it("names the eight attribute bits D S PE PW PR E W R from bit 7 down", () => {
    expect(attributesInLetters(0xff)).toBe("D S PE PW PR E W R");
    const bits = ["D", "S", "PE", "PW", "PR", "E", "W", "R"].map((letters) => attributeBits(letters));
    expect(bits).toEqual([0x80, 0x40, 0x20, 0x10, 0x08, 0x04, 0x02, 0x01]);
  });

  it("has room for 48 segments in a descriptor: (256 − 16) / 5", () => {
    expect((256 - 0x10) / 5).toBe(48);
    const parts = buildSegmentList([file("f", 48 * 256, { segments: 48 })], { tracks: 35, sides: 1, sectors: 18 });
    expect(openBest(parts).volume.entries[0]!.details).toContainEqual([
      "Segments",
      "48: the list is full, the file cannot get another piece",
    ]);
    expect(() =>
      buildSegmentList([file("f", 49 * 256, { segments: 49 })], { tracks: 35, sides: 1, sectors: 18 }),
    ).toThrow(/more than 48 segments/);
  });

  it("starts from size / 256 + 1 sectors in one piece, at the LSN of offset 15", () => {
    expect(bootstrapSectors(1500)).toBe(6);
    expect(bootstrapSectors(1536)).toBe(7);
    expect(sectorOf(number(0x15, 3))).toBe(sectorOf(number(sectorOf(number(directory + 64 + 29, 3)) + 0x10, 3)));
    expect(openBest(image).volume.facts).toContainEqual(["Bootstrap", expect.stringContaining("the file Boot")]);
  });
});
