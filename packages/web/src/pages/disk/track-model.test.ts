import { loadCatalogue } from "@rouse/core/catalogue";
import type { Quantity } from "@rouse/core/quantity";
import { transitionTimes } from "@rouse/core/recording";
import { describe, expect, it } from "vitest";
import { twoPercentSentence } from "./budget.tsx";
import { recoverTold } from "./recovered.ts";
import { byteAt, cellsBetween, fieldAt, layTrack, lookOf, tellCell } from "./track-model.ts";

const { recordings } = loadCatalogue();
const plain = { track: 1, side: 0 as const, interleave: 1, rotation: null as Quantity | null };
const laid = (id: string, data: Uint8Array | null = null, more = {}) =>
  layTrack({ recording: recordings.get(id)!, ...plain, ...more }, data);
/** A recording of each code. */
const idOf = (code: string): string =>
  [...recordings.values()].find((each) => each.code === code && each.layout && !each.trackZero)!.id;

describe("a track laid out for its picture", () => {
  it("covers the whole turn without a hole, in every recording of the catalogue", () => {
    for (const recording of recordings.values()) {
      if (!recording.layout) continue;
      const { fields, form } = layTrack({ recording, ...plain }, null);
      let at = 0;
      for (const field of fields) {
        expect(field.start).toBe(at);
        at += field.length;
      }
      expect(at).toBe(form.cells);
      for (const cell of [0, 1, form.cells >> 1, form.cells - 1]) {
        const field = fields[fieldAt(fields, cell)]!;
        expect(cell >= field.start && cell < field.start + field.length).toBe(true);
      }
    }
  });

  it("shows the image's own bytes in the data cells, and the marks' clocks that are left out", () => {
    for (const code of ["FM", "MFM"]) {
      const empty = laid(idOf(code));
      const data = Uint8Array.from({ length: empty.form.sectors * empty.form.size }, (_, k) => (k * 7 + 3) & 0xff);
      const track = laid(idOf(code), data);
      const field = track.fields.find((each) => each.kind === "data" && each.sector === track.form.firstSector)!;
      expect([0, 1, 2, 99].map((byte) => byteAt(track, field, byte))).toEqual([0, 1, 2, 99].map((k) => data[k]));
      const mark = track.fields.find(({ kind }) => kind === "data mark")!;
      const odd = cellsBetween(track, mark.start, mark.start + mark.length).filter(({ clock }) => clock === "missing");
      // FM: clock C7 leaves out three (179x data sheet, section 9); MFM: one in each of the three sync bytes.
      expect(odd.length).toBe(3);
      expect(tellCell(track, odd[0]!.cell).cell).toContain("left out on purpose");
    }
  });

  it("tells no bytes of group code, whose words are no bytes", () => {
    const track = laid(idOf("zoned 4-to-5 group code"));
    const field = track.fields.find(({ kind }) => kind === "data")!;
    expect(byteAt(track, field, 0)).toBeUndefined();
    expect(lookOf(field)).toBe("data");
    expect(tellCell(track, field.start).cell).toContain("cell of a code word of byte 1");
    expect(tellCell(track, field.start).size).toContain("256 bytes");
  });

  it("says whether it still fits at 2 % fast", () => {
    const left = laid(idOf("FM")).budget.left;
    expect(twoPercentSentence(left)).toMatch(/^At \+2 % speed the track still fits, with [\d.,]+ bytes to spare\.$/);
    const cut = left.map((each) => ({ ...each, fits: "no" as const, bytesLeft: -40 }));
    expect(twoPercentSentence(cut)).toBe("At +2 % speed the track no longer fits: it is 40 bytes too long.");
  });
});

describe("a captured track", () => {
  /** Level changes of a read amplifier for two turns of a track, 1 % fast, as a table. */
  const captured = (id: string): Uint8Array => {
    const track = laid(id);
    const { bits, length } = track.cells;
    const cell = track.form.cellSeconds / 1.01;
    const times = [0, 1].flatMap((turn) =>
      [...transitionTimes(bits, length, cell)].map((time) => time + turn * length * cell),
    );
    return new TextEncoder().encode(
      `s,read\n0,0\n${times.map((time, k) => `${time.toFixed(9)},${(k + 1) % 2}`).join("\n")}\n`,
    );
  };
  let clock = 0;
  const now = () => clock++;

  it("is found among all recordings, recovered, and told with its speed", () => {
    const id = idOf("MFM");
    const asked = { bytes: captured(id), recordings: [...recordings.values()], wish: null, edges: "auto" as const };
    const told = recoverTold({ ...asked, decoder: "loop" }, now);
    expect(told.sectors.every(({ basis }) => basis === "check")).toBe(true);
    expect(told.found.track).toBe(1 + recordings.get(id)!.geometry.firstTrack);
    expect(told.speed.mean).toBeCloseTo(0.01, 3);
    expect(told.intervals.counts.reduce((sum, each) => sum + each, 0)).toBe(
      told.transitions - 1 - told.intervals.longer,
    );
    expect(told.turns.count).toBeGreaterThanOrEqual(2);
  });

  it("is read as the chosen track where one is chosen, and says when nothing fits", () => {
    const id = idOf("MFM");
    const asked = { recordings: [...recordings.values()], edges: "auto" as const, decoder: "loop" as const };
    const other = { recording: id, track: 5, side: 0 as const };
    const told = recoverTold({ ...asked, bytes: captured(id), wish: other }, now);
    expect(told.sectors.every(({ basis }) => basis === "nothing")).toBe(true);
    expect(told.strays).toBeGreaterThan(0);
    const noise = new TextEncoder().encode("s,x\n0,0\n1,1\n2,0\n3,1\n");
    expect(() => recoverTold({ ...asked, bytes: noise, wish: null }, now)).toThrow(/no whole numbers/);
  });
});
