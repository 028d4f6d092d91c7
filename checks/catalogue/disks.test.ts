import { loadCatalogue } from "@rouse/core/catalogue";
import { mapBlocks } from "@rouse/core/geometry";
import { describe, expect, it } from "vitest";

const { recordings, media } = loadCatalogue();
const geometry = (id: string) => recordings.get(id)!.geometry;

describe("capacities", () => {
  // Sources: skeletal BIOS listing of the 8080/Z80 system manual (8-inch, 77 × 26 × 128); 179x data sheet §12.2 and the
  // manual of an 8-inch drive, fig. 6-7 (26 × 256, 15 × 512, 8 × 1,024 on an MFM track); FAT reference (80 × 2 × 18 × 512 =
  // 2,880 sectors, media byte F0); the rest is arithmetic on layouts from memory, as the catalogue says.
  it.each([
    ["ecma-54", 256_256],
    ["ecma-59", 512_512],
    ["ecma-66", 71_680],
    ["ecma-70", 325_632],
    ["ecma-78-9x512", 737_280],
    ["ecma-99-b", 1_228_800],
    ["ecma-100", 737_280],
    ["ecma-125", 1_474_560],
    ["ecma-147", 2_949_120],
    ["eight-inch-one-side-26x256", 512_512],
    ["five-inch-two-side-9x512", 368_640],
    ["five-inch-two-side-8x512", 327_680],
    ["five-inch-one-side-9x512", 184_320],
    ["five-inch-one-side-8x512", 163_840],
  ])("give %s %d bytes", (id, bytes) => {
    expect(mapBlocks(geometry(id)).bytes).toBe(bytes);
  });

  // Source: FAT reference: total sectors by format.
  it.each([
    ["five-inch-two-side-9x512", 720],
    ["ecma-100", 1440],
    ["ecma-99-b", 2400],
    ["ecma-125", 2880],
  ])("give %s %d sectors", (id, blocks) => {
    expect(mapBlocks(geometry(id)).blocks).toBe(blocks);
  });

  // Source: 6809 system programmer's manual; worked example of 35 tracks of 18 sectors: 630.
  it("give the 35-track segment-list disk 630 sectors", () => {
    expect(mapBlocks(geometry("five-inch-one-side-35-18x256")).blocks).toBe(630);
  });
});

// Sources: user's guides of the 35-track and the 77-track zoned drives: tracks 1–17, 18–24, 25–30, 31–35 with 21, 19, 18, 17
// sectors (an early form has 20 on 18–24); tracks 1–39, 40–53, 54–64, 65–77 with 29, 27, 25, 23, side two as tracks 78–154.
describe("the zoned recordings", () => {
  it.each([
    ["zoned-35", 683, 174_848],
    ["zoned-35-early", 690, 176_640],
    ["zoned-77-one-side", 2083, 533_248],
    ["zoned-77-two-side", 4166, 1_066_496],
  ])("give %s %d blocks", (id, blocks, bytes) => {
    const map = mapBlocks(geometry(id));
    expect(map.blocks).toBe(blocks);
    expect(map.bytes).toBe(bytes);
  });

  it.each([
    ["zoned-35", [1, 17, 18, 24, 25, 30, 31, 35], [21, 21, 19, 19, 18, 18, 17, 17]],
    ["zoned-77-one-side", [1, 39, 40, 53, 54, 64, 65, 77], [29, 29, 27, 27, 25, 25, 23, 23]],
  ] as const)("change zone where the guide of %s says", (id, tracks, sectors) => {
    const { zones, firstTrack, firstSector } = geometry(id);
    expect(firstTrack).toBe(1);
    expect(firstSector).toBe(0);
    for (const [index, track] of tracks.entries())
      expect(zones.find(({ from, to }) => track - firstTrack >= from && track - firstTrack <= to)!.sectors).toBe(
        sectors[index],
      );
  });

  it("put track 78 of the two-sided disk on side two", () => {
    expect(mapBlocks(geometry("zoned-77-two-side")).place(2083)).toEqual({ track: 0, side: 1, sector: 0 });
  });

  // Source: service manual of a 35-track drive (300 rpm) with cells of 3.25, 3.5, 3.75 and 4 µs; 325 + 10 bytes a sector as
  // encoded, 5 bytes of sync before each part, 9 of header gap (user's guide p. 104): the sectors must fit the track.
  it("leave room for every sector on a track", () => {
    const { rates, geometry: each } = recordings.get("zoned-35")!;
    const cells = [3.25, 3.5, 3.75, 4].map((microseconds) => 1e6 / microseconds);
    for (const [index, zone] of each.zones.entries()) {
      expect(rates[index]!.value.value).toBeCloseTo((cells[index]! * 4) / 5, -1);
      const bytesAround = (cells[index]! * 0.2) / 8;
      expect(zone.sectors * (5 + 10 + 9 + 5 + 325)).toBeLessThan(bytesAround);
    }
  });
});

// The standards count flux transitions a radian at the highest density (ftprad); around a track that is 2π·ftprad cells for
// FM's half-bits or MFM's bits. Against it stands what rate and rotation put on a track: rate ÷ rotation ÷ 8 bytes. Sources of
// ftprad: titles of ECMA-59, 66, 70, 99, ISO 8378, 8860, 10994 (seen); ECMA-125 from memory.
describe("nominal bytes a revolution", () => {
  it.each([
    ["ecma-54", 13_262, 5208],
    ["ecma-59", 13_262, 5208],
    ["ecma-69", 13_262, 10_417],
    ["ecma-66", 7958, 3125],
    ["ecma-70", 7958, 6250],
    ["ecma-78", 7958, 6250],
    ["ecma-99-a", 13_262, 10_417],
    ["ecma-99-b", 13_262, 10_417],
    ["ecma-100", 7958, 6250],
    ["ecma-125", 15_916, 12_500],
    ["ecma-147", 31_831, 25_000],
  ])("agree for %s: %d ftprad and %d bytes", (id, ftprad, bytes) => {
    const { code, rates, rotation, media: names } = recordings.get(id)!;
    const byDensity = (2 * Math.PI * ftprad) / 8 / (code === "FM" ? 2 : 1);
    const byRate = rates[0]!.value.value / rotation.value.value / 8;
    expect(Math.abs(byRate / byDensity - 1)).toBeLessThan(0.001);
    expect(Math.round(byRate)).toBe(bytes);
    for (const name of names) expect(media.get(name)!.bitDensity.value.value).toBe(ftprad);
  });

  // Source: 179x data sheet §12 and the manual of an 8-inch drive, fig. 6-7: 5,208 bytes on an FM track, 10,416 on an MFM one;
  // per sector 188 (FM 128), 372 (MFM 256), and gaps of 73 + 247 and 146 + 598 bytes.
  it("hold the 8-inch sectors with the gaps of the data sheet", () => {
    expect(73 + geometry("ecma-54").zones[0]!.sectors * 188 + 247).toBe(5208);
    expect(146 + geometry("eight-inch-one-side-26x256").zones[0]!.sectors * 372 + 598).toBe(10_416);
  });
});
