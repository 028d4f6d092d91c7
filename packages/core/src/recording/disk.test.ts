import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { loadCatalogue, type RecordingCode } from "../catalogue/index.ts";
import { InputError } from "../errors/index.ts";
import { mapBlocks } from "../geometry/index.ts";
import { type Cells, CellWriter, cellAt, pastTheJoin } from "./cells.ts";
import { decodeDisk, decodeTrack } from "./decode.ts";
import { encodeDisk, encodeTrack } from "./encode.ts";
import { trackFields } from "./fields.ts";
import { sectorOrder, trackForm } from "./form.ts";
import { Random } from "./kit/index.ts";
import { scanFields } from "./scan.ts";

const catalogue = loadCatalogue();
const recordings = [...catalogue.recordings.values()];
const recordingOf = (id: string) => catalogue.recordings.get(id)!;

const same = (one: Uint8Array, other: Uint8Array): boolean =>
  one.length === other.length && one.every((byte, i) => byte === other[i]);

/** Cells `from` onwards and round again to where they began. */
function turned(cells: Cells, from: number): Cells {
  const writer = new CellWriter(cells.length);
  for (let k = 0; k < cells.length; k++) writer.put(cellAt(cells, (from + k) % cells.length), 1);
  return writer.done();
}

const FORMS = [
  ["FM", trackForm(recordingOf("ecma-54"), 3, 0)],
  ["MFM", trackForm(recordingOf("ecma-100"), 3, 1)],
  ["zoned 4-to-5 group code", trackForm(recordingOf("zoned-35"), 20, 0)],
] as const;

describe.each(recordings)("$id", (recording) => {
  const image = new Random(5).bytes(mapBlocks(recording.geometry).bytes);

  it("comes back from its cells byte for byte", () => {
    const disk = encodeDisk(recording, image);
    expect(disk).toHaveLength(recording.geometry.tracks * recording.geometry.sides);
    const decoded = decodeDisk(recording, disk);
    expect(decoded.bad).toEqual([]);
    expect(decoded.strays).toEqual([]);
    expect(same(decoded.image, image)).toBe(true);
  });

  it("fits a nominal turn on every track, and gives gaps to every zone", () => {
    expect(recording.layout).toHaveLength(recording.geometry.zones.length);
    for (let track = 0; track < recording.geometry.tracks; track++) {
      const form = trackForm(recording, track, 0);
      const last = trackFields(form).at(-1)!;
      expect(last.length).toBeGreaterThanOrEqual(0);
      expect(last.start + last.length).toBe(form.cells);
    }
  });
});

describe("encoding", () => {
  it("numbers the far side of a zoned disk on from the near one", () => {
    const recording = recordingOf("zoned-77-two-side");
    const form = trackForm(recording, 0, 1);
    const [sector] = decodeTrack(encodeTrack(form, new Uint8Array(29 * 256)), form);
    expect(sector!.id!.id.track).toBe(78);
  });

  it("puts track 0 of a mixed disk down in FM, at half the rate", () => {
    const recording = recordingOf("ecma-69");
    const zero = trackForm(recording, 0, 0);
    const rest = trackForm(recording, 1, 0);
    expect([zero.code, zero.size, rest.code, rest.size]).toEqual(["FM", 128, "MFM", 256]);
    expect(zero.cellSeconds).toBeCloseTo(2 * rest.cellSeconds, 12);
  });

  it("lays sectors out with an interleave and reads them back in the order of their numbers", () => {
    const form = trackForm(recordingOf("ecma-100"), 1, 0);
    expect(sectorOrder(form, 2)).toEqual([1, 6, 2, 7, 3, 8, 4, 9, 5]);
    const data = new Random(6).bytes(9 * 512);
    const sectors = decodeTrack(encodeTrack(form, data, { interleave: 2 }), form);
    expect(sectors.map(({ id }) => id!.id.sector)).toEqual([1, 6, 2, 7, 3, 8, 4, 9, 5]);
    for (const { id, data: found } of sectors)
      expect(same(found!.data, data.subarray((id!.id.sector - 1) * 512, id!.id.sector * 512))).toBe(true);
  });

  it("never puts more zeros between transitions than the code allows", () => {
    for (const [code, form] of FORMS) {
      const cells = encodeTrack(form, new Random(8).bytes(form.sectors * form.size));
      let text = "";
      for (let cell = 0; cell < cells.length; cell++) text += cellAt(cells, cell);
      const longest = { FM: 1, MFM: 3, "zoned 4-to-5 group code": 2 }[code];
      expect(text).not.toContain("0".repeat(longest + 1));
      if (code === "MFM") expect(text).not.toContain("11");
    }
  });

  it("refuses an image of another size, a track that isn't there, and a recording without gaps", () => {
    const recording = recordingOf("ecma-54");
    expect(() => encodeDisk(recording, new Uint8Array(100))).toThrow(InputError);
    expect(() => encodeDisk(recording, new Uint8Array(100))).toThrow(/has 100 bytes; .* holds 256256/);
    expect(() => trackForm(recording, 77, 0)).toThrow(/no track 77/);
    expect(() => trackForm(recording, 0, 1)).toThrow(/no track 0 on side 1/);
    const { layout: _, ...bare } = recording;
    expect(() => trackForm(bare, 0, 0)).toThrow(/doesn't say how its tracks are laid out/);
  });

  it("refuses a layout that is longer than the turn", () => {
    const recording = recordingOf("ecma-54");
    const wide = { ...recording, layout: [{ ...recording.layout![0]!, afterData: 60 }] };
    expect(() => encodeTrack(trackForm(wide, 0, 0), new Uint8Array(26 * 128))).toThrow(
      /cells longer than a nominal turn/,
    );
  });
});

describe.each(FORMS)("decoding %s", (code, form) => {
  const data = new Random(9).bytes(form.sectors * form.size);
  const cells = encodeTrack(form, data);
  const numbers = (from: Cells) =>
    decodeTrack(from, form)
      .filter(({ id, data: found }) => id?.good && found?.good)
      .map(({ id }) => id!.id.sector)
      .sort((a, b) => a - b);
  const all = sectorOrder(form);

  it("finds every sector wherever the turn is cut, at any cell", () => {
    fc.assert(
      fc.property(fc.nat(cells.length - 1), (from) => {
        expect(numbers(turned(cells, from))).toEqual(all);
      }),
      { seed: 11, numRuns: 12 },
    );
  });

  it("loses the sector whose cell is wrong, and no other", () => {
    const fields = trackFields(form).filter(({ kind }) => kind === "data");
    for (const field of [fields[0]!, fields.at(-1)!]) {
      const bits = cells.bits.slice();
      const at = field.start + (field.length >> 1) + 1;
      bits[at >> 3] = bits[at >> 3]! ^ (0x80 >> (at & 7));
      expect(numbers({ bits, length: cells.length })).toEqual(all.filter((sector) => sector !== field.sector));
    }
  });

  it("follows cells lost or gained at a write splice", () => {
    const splice = trackFields(form).find(({ kind, sector }) => kind === "gap after ID" && sector === all[2])!;
    for (const shift of [-7, -1, 1, 3, 9]) {
      const writer = new CellWriter(cells.length + shift);
      for (let cell = 0; cell < cells.length; cell++) {
        if (cell === splice.start + 24) for (let k = 0; k < shift; k++) writer.put(k & 1, 1);
        if (shift < 0 && cell >= splice.start + 24 && cell < splice.start + 24 - shift) continue;
        writer.put(cellAt(cells, cell), 1);
      }
      expect(numbers(writer.done())).toEqual(all);
    }
  });

  it("takes any cells at all, and finds nothing good in noise", () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 3000 }), fc.nat(7), (bits, spare) => {
        const length = Math.max(0, bits.length * 8 - spare);
        for (const { id, data: found } of decodeTrack({ bits, length }, form))
          expect(((id ?? found)!.at >= 0 && id === undefined) || id!.end > id!.at).toBe(true);
      }),
      { seed: 12, numRuns: 200 },
    );
    for (let seed = 1; seed < 30; seed++)
      expect(numbers({ bits: new Random(seed).bytes(20_000), length: 160_000 })).toEqual([]);
  });

  it("takes damaged tracks: bursts, holes and copies of parts", () => {
    fc.assert(
      fc.property(fc.nat(cells.bits.length - 1), fc.nat(4000), fc.nat(cells.bits.length - 1), (from, count, other) => {
        const bits = cells.bits.slice();
        bits.copyWithin(from, other, other + count);
        for (const { id, data: found } of decodeTrack({ bits, length: cells.length }, form))
          if (id?.good && found?.good) expect(found.data).toHaveLength(id.id.size);
      }),
      { seed: 13, numRuns: 30 },
    );
  });

  it("reads nothing from no cells", () => {
    expect(decodeTrack({ bits: new Uint8Array(0), length: 0 }, form)).toEqual([]);
    expect(scanFields({ bits: new Uint8Array(2).fill(0xff), length: 16 }, code satisfies RecordingCode)).toEqual([]);
  });
});

describe("cells made of nothing but marks", () => {
  it("take work and memory in proportion to their number", () => {
    // A good ID that promises 16 KiB, and then a data mark every 32 cells.
    const form = { ...FORMS[1][1], size: 16_384, sectors: 1, cells: 400_000 };
    const track = encodeTrack(form, new Uint8Array(16_384));
    const begin = trackFields(form).find(({ kind }) => kind === "data mark")!.start;
    const writer = new CellWriter(2_000_000);
    for (let cell = 0; cell < begin; cell++) writer.put(cellAt(track, cell), 1);
    while (writer.length + 32 < 2_000_000) {
      writer.put(0x4489, 16);
      writer.put(0x5545, 16);
    }
    const fields = scanFields(writer.done(), "MFM");
    expect(fields[0]).toMatchObject({ kind: "ID", good: true, id: { size: 16_384 } });
    const bytes = fields.reduce((sum, field) => sum + (field.kind === "data" ? field.data.length : 0), 0);
    expect(bytes).toBeGreaterThan(16_384);
    expect(bytes).toBeLessThan(2_000_000);
  });
});

describe("decoding a disk", () => {
  const recording = recordingOf("ecma-66");
  const image = new Random(10).bytes(71_680);
  const disk = encodeDisk(recording, image);

  it("names the blocks of a track that is missing", () => {
    const { bad } = decodeDisk(
      recording,
      disk.filter(({ track }) => track !== 7),
    );
    expect(bad).toHaveLength(16);
    expect(bad[0]).toEqual({ block: 112, place: { track: 7, side: 0, sector: 0 }, fault: "no ID" });
  });

  it("tells a wrong check from a data field that isn't there", () => {
    const form = trackForm(recording, 0, 0);
    const fields = trackFields(form);
    const broken = { ...disk[0]!.cells, bits: disk[0]!.cells.bits.slice() };
    const wipe = (kind: string, sector: number) => {
      const { start, length } = fields.find((each) => each.kind === kind && each.sector === sector)!;
      broken.bits.fill(0xff, start >> 3, (start + length) >> 3);
    };
    wipe("data", 2);
    wipe("data mark", 5);
    wipe("ID", 9);
    const { bad } = decodeDisk(recording, [{ track: 0, side: 0, cells: broken }, ...disk.slice(1)]);
    expect(bad.map(({ block, fault }) => [block, fault])).toEqual([
      [1, "wrong check"],
      [4, "no data field"],
      [8, "no ID"],
    ]);
  });

  it("lists sectors that belong to another track, and doesn't take them", () => {
    const { bad, strays } = decodeDisk(recording, [{ ...disk[3]!, track: 4 }]);
    expect(bad).toHaveLength(35 * 16);
    expect(strays[0]).toEqual({ track: 4, side: 0, id: { track: 3, head: 0, sector: 1, size: 128 } });
  });

  it("passes over tracks that the recording doesn't have", () => {
    expect(decodeDisk(recording, [{ track: 99, side: 0, cells: disk[0]!.cells }]).bad).toHaveLength(560);
  });
});

describe("pastTheJoin", () => {
  it("adds the beginning behind the end, at any length", () => {
    fc.assert(
      fc.property(fc.uint8Array({ minLength: 1, maxLength: 40 }), fc.nat(7), fc.nat(400), (bits, spare, more) => {
        const length = bits.length * 8 - spare;
        const round = pastTheJoin({ bits, length }, more);
        expect(round.length).toBe(length + Math.min(more, length));
        for (let cell = 0; cell < round.length; cell++)
          expect(cellAt(round, cell)).toBe(cellAt({ bits, length }, cell % length));
      }),
      { seed: 14, numRuns: 300 },
    );
  });
});
