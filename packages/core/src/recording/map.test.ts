import { describe, expect, it } from "vitest";
import { loadCatalogue } from "../catalogue/index.ts";
import { decodeTrack } from "./decode.ts";
import { encodeTrack } from "./encode.ts";
import { trackForm } from "./form.ts";
import { Random } from "./kit/index.ts";
import { fieldCells, foundMap, trackMap } from "./map.ts";

const { recordings } = loadCatalogue();
const forms = (["ecma-54", "ecma-100", "zoned-35"] as const).map((id) => trackForm(recordings.get(id)!, 2, 0));

describe.each(forms)("the picture of a track of $recording", (form) => {
  const data = new Random(3).bytes(form.sectors * form.size);
  const cells = encodeTrack(form, data);
  const fields = trackMap(form);

  it("goes once round without a hole", () => {
    expect(fields[0]!.from).toBe(0);
    expect(fields.at(-1)!.to).toBeCloseTo(1, 12);
    for (let i = 1; i < fields.length; i++) expect(fields[i]!.from).toBeCloseTo(fields[i - 1]!.to, 12);
  });

  it("shows the fields found where they were laid", () => {
    const found = foundMap(decodeTrack(cells, form), form, cells.length);
    expect(found.every(({ good }) => good)).toBe(true);
    for (const kind of ["ID mark", "ID", "data mark", "data"] as const) {
      const laid = fields.filter((each) => each.kind === kind);
      expect(
        found.filter((each) => each.kind === kind).map(({ sector, start, length }) => [sector, start, length]),
      ).toEqual(laid.map(({ sector, start, length }) => [sector, start, length]));
    }
  });
});

describe("fieldCells", () => {
  it("tells clock from data and finds the clock that a sync byte of MFM leaves out", () => {
    const form = forms[1]!;
    const cells = encodeTrack(form, new Uint8Array(form.sectors * form.size));
    const mark = trackMap(form).find(({ kind }) => kind === "ID mark")!;
    const rows = fieldCells(form, cells, mark);
    expect(rows).toHaveLength(64);
    expect(
      rows
        .filter(({ role }) => role === "data")
        .map(({ value }) => value)
        .slice(0, 8),
    ).toEqual([1, 0, 1, 0, 0, 0, 0, 1]);
    // One missing clock in each of the three A1, between bits 4 and 5: clock cell 5 of the byte. None in the FE.
    expect(rows.filter(({ clock }) => clock).map(({ cell, byte, clock }) => [cell - mark.start, byte, clock])).toEqual([
      [10, 0, "missing"],
      [26, 1, "missing"],
      [42, 2, "missing"],
    ]);
  });

  it("finds the three clocks that a mark of FM leaves out", () => {
    const form = forms[0]!;
    const cells = encodeTrack(form, new Uint8Array(form.sectors * form.size));
    const mark = trackMap(form).find(({ kind }) => kind === "data mark")!;
    const rows = fieldCells(form, cells, mark);
    expect(rows.filter(({ clock }) => clock === "missing").map(({ cell }) => (cell - mark.start) / 2)).toEqual([
      2, 3, 4,
    ]);
  });

  it("has no broken clock in data of either code", () => {
    for (const form of forms.slice(0, 2)) {
      const cells = encodeTrack(form, new Random(4).bytes(form.sectors * form.size));
      const data = trackMap(form).find(({ kind }) => kind === "data")!;
      const rows = fieldCells(form, cells, data);
      expect(rows).toHaveLength(form.size * 16);
      expect(rows.some(({ clock }) => clock !== undefined)).toBe(false);
    }
  });

  it("counts ten cells a byte in group code, and eight in its gaps", () => {
    const form = forms[2]!;
    const cells = encodeTrack(form, new Uint8Array(form.sectors * form.size));
    const fields = trackMap(form);
    const rows = (kind: string) => fieldCells(form, cells, fields.find((each) => each.kind === kind)!);
    expect(rows("data").at(-1)).toMatchObject({ role: "code", byte: 255 });
    expect(rows("gap after ID").at(-1)).toMatchObject({ role: "run", byte: 8 });
  });

  it("stops at the end of the cells, and takes a field that lies outside", () => {
    const form = forms[1]!;
    const cells = encodeTrack(form, new Uint8Array(form.sectors * form.size));
    expect(fieldCells(form, cells, { kind: "data", start: cells.length - 4, length: 100 })).toHaveLength(4);
    expect(fieldCells(form, cells, { kind: "data", start: cells.length + 4, length: 100 })).toEqual([]);
  });
});
