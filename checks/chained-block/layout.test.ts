import { buildChainedBlock, chainedBlock } from "@rouse/core/volume/chained-block";
import { describe, expect, it } from "vitest";

const formatted = (layout: "35-track" | "35-track-early" | "77-track" | "77-track-two-sided") => {
  const image = buildChainedBlock([], { layout, name: "empty", id: "00" });
  const [candidate] = chainedBlock.recognise(image);
  return { image, volume: chainedBlock.open(image, candidate!.options) };
};

// Sources: drive guides UG41 p. 88 (35 tracks: 21, 19, 18 and 17 sectors), an early one (20 on tracks 18–24) and UG8x
// (77 tracks: 29, 27, 25 and 23). Blocks and bytes are arithmetic on these; free after format, too: all blocks but the
// directory's track and the map blocks outside it. That 2,052 leaves the two map blocks out is arithmetic, not printed.
describe("the layouts against the drive guides", () => {
  it.each([
    ["35-track", 683, 174_848, 664, 168_656],
    ["77-track", 2083, 533_248, 2052, 521_208],
    ["77-track-two-sided", 4166, 1_066_496, 4133, 1_049_782],
  ] as const)("%s: %d blocks, %d bytes, %d free for %d bytes of data", (layout, blocks, bytes, free, data) => {
    const { image, volume } = formatted(layout);
    expect(volume.owners.length).toBe(blocks);
    expect(image.length).toBe(bytes);
    expect(volume.freeBlocks).toBe(free);
    expect(free * 254).toBe(data);
    expect(volume.damages).toEqual([]);
  });

  it("35-track, early variant: 690 blocks", () => {
    const { image, volume } = formatted("35-track-early");
    expect(volume.owners.length).toBe(690);
    expect(image.length).toBe(690 * 256);
    // 690 less the 20 of track 18: arithmetic, no source.
    expect(volume.freeBlocks).toBe(670);
  });

  // UG8x: the second side goes on as tracks 78–116, 117–130, 131–141, 142–154.
  it("two-sided: the zones of the second side mirror the first", () => {
    const { geometry } = formatted("77-track-two-sided").volume;
    const zones = geometry.zones.map((zone) => [zone.from + 1 + 77, zone.to + 1 + 77, zone.sectors]);
    expect(zones).toEqual([
      [78, 116, 29],
      [117, 130, 27],
      [131, 141, 25],
      [142, 154, 23],
    ]);
    expect(geometry).toMatchObject({ sides: 2, order: "side-after-side", firstTrack: 1, firstSector: 0 });
  });
});

// Sources: UG41 p. 88–91 and UG8x: directory of 18 blocks and of 28 blocks with 8 entries each.
describe("the directory against the drive guides", () => {
  it.each([
    ["35-track", 144],
    ["77-track", 224],
    ["77-track-two-sided", 224],
  ] as const)("%s: %d entries and not one more", (layout, most) => {
    const tree = (count: number) =>
      Array.from({ length: count }, (_, i) => ({ path: `f${i}`, type: "file" as const, bytes: Uint8Array.of(i) }));
    const image = buildChainedBlock(tree(most), { layout, name: "full", id: "00" });
    const volume = chainedBlock.open(image, { layout, errorBytes: false });
    expect(volume.entries.map((entry) => entry.path)).toEqual(tree(most).map((entry) => entry.path));
    expect(volume.damages).toEqual([]);
    expect(() => buildChainedBlock(tree(most + 1), { layout, name: "full", id: "00" })).toThrow(`${most} places`);
  });
});

// Source: UG41 p. 88–91: where header, map and directory lie on the 35-track kind, byte by byte. Offsets in the image are
// arithmetic: 17 tracks of 21 sectors before track 18.
describe("the 35-track header and directory against the guide's tables", () => {
  const track18 = 17 * 21 * 256;
  const image = buildChainedBlock(
    [{ path: "ab", type: "file", bytes: new Uint8Array(300), wishes: { kind: "program", locked: true } }],
    { layout: "35-track", name: "name", id: "id" },
  );

  it("have the link to 18/1, $41, the name at 144, the ID at 162 and 2A at 165", () => {
    const header = image.subarray(track18, track18 + 256);
    expect([...header.subarray(0, 3)]).toEqual([18, 1, 0x41]);
    // Letters of the case-exchanged code (from memory): small letters are 41–5A.
    expect([...header.subarray(144, 160)]).toEqual([0x4e, 0x41, 0x4d, 0x45, ...new Array(12).fill(0xa0)]);
    expect([...header.subarray(162, 164)]).toEqual([0x49, 0x44]);
    expect([...header.subarray(165, 167)]).toEqual([0x32, 0x41]);
  });

  it("keep four bytes of map a track from byte 4: the free count and 24 bits, 1 for free", () => {
    const entry = (track: number) => [...image.subarray(track18 + 4 * track, track18 + 4 * track + 4)];
    expect(entry(1)).toEqual([21, 0xff, 0xff, 0x1f]);
    // Header and first directory block are in use; bit 0 is sector 0 (from memory).
    expect(entry(18)).toEqual([17, 0xfc, 0xff, 0x07]);
    expect(entry(35)).toEqual([17, 0xff, 0xff, 0x01]);
  });

  it("have the slot's type at 0, first block at 1, name at 3 and block count at 28", () => {
    const slot = image.subarray(track18 + 256 + 2, track18 + 256 + 32);
    expect(slot[0]).toBe(0x80 | 0x40 | 2);
    expect([...slot.subarray(3, 19)]).toEqual([0x41, 0x42, ...new Array(14).fill(0xa0)]);
    expect([slot[28], slot[29]]).toEqual([2, 0]);
    expect([...image.subarray(track18 + 256, track18 + 258)]).toEqual([0, 255]);
  });
});

// Sources: UG41 p. 90 (six index blocks of 120 pointers: 720 blocks, 182,880 bytes) and UG81 p. 122 (126 groups).
describe("the limits of record files against the drive guides", () => {
  const records = (bytes: number) => [
    { path: "r", type: "file" as const, bytes: new Uint8Array(bytes), wishes: { kind: "records", recordLength: 254 } },
  ];

  it("hold 182,880 bytes in the 720 blocks of one group, and not one record more", () => {
    const image = buildChainedBlock(records(182_880), { layout: "77-track", name: "r", id: "00", upperIndex: "none" });
    const volume = chainedBlock.open(image, { layout: "77-track", errorBytes: false });
    expect(volume.damages).toEqual([]);
    expect(volume.entries[0]).toMatchObject({ size: 182_880, records: { length: 254, count: 720 } });
    expect(volume.entries[0]!.blocks.length).toBe(720);
    expect(volume.entries[0]!.ownBlocks.length).toBe(6);
    expect(() =>
      buildChainedBlock(records(182_880 + 254), { layout: "77-track", name: "r", id: "00", upperIndex: "none" }),
    ).toThrow("a record file here holds 182880 at most");
  });

  it("end at 126 groups of an upper index: 90,720 blocks, 23,042,880 bytes", () => {
    const build = (bytes: number) => () =>
      buildChainedBlock(records(bytes), { layout: "77-track-two-sided", name: "r", id: "00" });
    expect(126 * 720).toBe(90_720);
    // No disk of these kinds is that large: the disk is full first, the limit says so before that.
    expect(build(23_042_880)).toThrow("does not fit: the volume has 4133 blocks");
    expect(build(23_042_880 + 254)).toThrow("a record file here holds 23042880 at most");
  });

  // UG41 p. 90: bytes 0–1 next block, 2 the number, 3 the record length, 4–15 the group's six, 16–255 the data pointers.
  // UG81 p. 122: the upper index has $FF (as quoted) at byte 2 and the groups' first blocks from byte 3.
  it("lay the index blocks out as the guides print them", () => {
    const image = buildChainedBlock(records(254 * 121), {
      layout: "77-track",
      name: "r",
      id: "00",
      upperIndex: 0xff,
    });
    const { entries } = chainedBlock.open(image, { layout: "77-track", errorBytes: false });
    const [upper, first, second] = entries[0]!.ownBlocks.map((block) => image.subarray(block * 256, (block + 1) * 256));
    expect(upper![2]).toBe(0xff);
    expect([...upper!.subarray(0, 2)]).toEqual([...upper!.subarray(3, 5)]);
    expect([...first!.subarray(0, 2)]).toEqual([...first!.subarray(6, 8)]);
    expect([first![2], first![3], second![2], second![3]]).toEqual([0, 254, 1, 254]);
    expect([...first!.subarray(4, 16)]).toEqual([...second!.subarray(4, 16)]);
    expect([...first!.subarray(8, 16)]).toEqual([0, 0, 0, 0, 0, 0, 0, 0]);
    expect(first![254]).toBeGreaterThan(0);
    // One pointer in the second: the last valid byte is 17 (from memory).
    expect([...second!.subarray(0, 2)]).toEqual([0, 17]);
    expect(second![18]).toBe(0);
  });
});
