import { describe, expect, it } from "vitest";
import { mapBlocks } from "../geometry/index.ts";
import { BUILTIN } from "./builtin.ts";
import { loadCatalogue } from "./index.ts";
import { NAME_KEY } from "./raw.ts";
import { catalogueSchema } from "./schema.ts";
import type { CatalogueKind, Source } from "./types.ts";

const catalogue = loadCatalogue();
const KINDS = Object.keys(NAME_KEY) as CatalogueKind[];

/** Every value of a part with the place where it stands. */
function values(part: unknown, place = ""): [string, Record<string, unknown>][] {
  if (typeof part !== "object" || part === null) return [];
  if ("value" in part) return [[place, part as Record<string, unknown>]];
  return Object.entries(part)
    .filter(([key]) => key !== "source")
    .flatMap(([key, each]) => values(each, `${place}.${key}`));
}

describe("the built-in catalogue", () => {
  it.each(Object.keys(BUILTIN))("is valid by the schema in %s.yaml", (file) => {
    expect(catalogueSchema.safeParse(BUILTIN[file]).error?.issues ?? []).toEqual([]);
  });

  it("names each part, and each source, once", () => {
    for (const kind of [...KINDS, "sources"] as const) {
      const names = Object.values(BUILTIN).flatMap((file) =>
        (file[kind] ?? []).map((each) => String((each as Record<string, unknown>)[kind === "chips" ? "part" : "id"])),
      );
      expect(names.filter((name, index) => names.indexOf(name) !== index)).toEqual([]);
      expect(catalogue[kind].size).toBe(names.length);
    }
  });

  it("holds as many parts as are promised", () => {
    expect(catalogue.chips.size).toBeGreaterThanOrEqual(60);
    expect(catalogue.drives.size).toBeGreaterThanOrEqual(14);
    expect(catalogue.media.size).toBeGreaterThanOrEqual(10);
    expect(catalogue.recordings.size).toBeGreaterThanOrEqual(16);
    expect(catalogue.terminals.size).toBeGreaterThanOrEqual(8);
    for (const id of ["db-25", "de-9", "din-5", "card-edge-24", "header-10"])
      expect(catalogue.connectors.has(id)).toBe(true);
  });

  it.each("00 04 08 32 74 125 138 139 157 158 161 163 164 166 189 219 240 244 245 257 273 367 373 374 393".split(" "))(
    "knows supply, drive, load and delay of the 74LS%s",
    (number) => {
      const chip = catalogue.chips.get(`74LS${number}`)!;
      expect(chip.supply[0]!.max!.value.value).toBeGreaterThan(0);
      expect(chip.output!.low!.value.value).toBeGreaterThanOrEqual(0.008);
      expect(chip.output!.high!.value.value).toBeGreaterThanOrEqual(0.0004);
      expect(chip.input!.low!.value.value).toBeGreaterThan(0);
      expect(chip.delays.length > 0 || chip.memory?.access !== undefined).toBe(true);
    },
  );

  it("holds every flexible-disk layout that ECMA standardised", () => {
    for (const number of [54, 59, 66, 69, 70, 78, 99, 100, 125, 147])
      expect([...catalogue.recordings.keys()].some((id) => id.split("-")[1] === String(number))).toBe(true);
  });

  it.each(KINDS)("gives every value of its %s a source that it lists", (kind) => {
    const lost = [...catalogue[kind]].flatMap(([name, part]) =>
      values(part)
        .filter(([, value]) => catalogue.sources.get((value.source as Source).id) !== value.source)
        .map(([place]) => `${name}${place}`),
    );
    expect(lost).toEqual([]);
    if (kind !== "connectors" && kind !== "terminals")
      expect([...catalogue[kind].values()].flatMap((part) => values(part)).length).toBeGreaterThan(10);
  });

  it("cites every source it lists", () => {
    const cited = new Set(
      [
        ...JSON.stringify(Object.values(BUILTIN).map(({ sources: _, ...parts }) => parts)).matchAll(
          /"source":"([^"]+)"/g,
        ),
      ].map(([, id]) => id),
    );
    expect([...catalogue.sources.keys()].filter((id) => !cited.has(id))).toEqual([]);
  });

  it("never gives a typical value above the largest one", () => {
    for (const chip of catalogue.chips.values())
      for (const { typical, max } of [...chip.supply, ...chip.delays])
        if (typical && max) expect(typical.value.value, chip.part).toBeLessThanOrEqual(max.value.value);
  });
});

describe("recordings", () => {
  it.each([...catalogue.recordings.values()])("$id sums to the capacity it states", (recording) => {
    expect(mapBlocks(recording.geometry).bytes).toBe(recording.capacity.value.value);
    expect(recording.geometry.zones.every((zone) => zone.to < recording.geometry.tracks)).toBe(true);
  });

  it.each([...catalogue.recordings.values()])("$id fits its media: size, sides, density", (recording) => {
    expect(recording.media.length).toBeGreaterThan(0);
    for (const id of recording.media) {
      const medium = catalogue.media.get(id)!;
      expect(medium.size).toBe(recording.size);
      expect(medium.sides).toBeGreaterThanOrEqual(recording.geometry.sides);
      expect(medium.sectoring).toBe("soft");
    }
  });

  it.each([...catalogue.recordings.values()])("$id has a drive that writes it", (recording) => {
    const drives = [...catalogue.drives.values()].filter(
      (drive) =>
        drive.size === recording.size &&
        drive.sides >= recording.geometry.sides &&
        drive.tracks >= recording.geometry.tracks &&
        drive.codes.includes(recording.code) &&
        Math.abs(drive.trackDensity.value.value / recording.trackDensity.value.value - 1) < 0.02 &&
        recording.rates.every(
          (rate) =>
            rate.value.value >= drive.rates[0]!.value.value && rate.value.value <= drive.rates.at(-1)!.value.value,
        ),
    );
    expect(drives.length).toBeGreaterThan(0);
  });

  it("gives a rate for each zone of the zoned ones", () => {
    for (const { code, rates, geometry } of catalogue.recordings.values())
      expect(rates).toHaveLength(code === "zoned 4-to-5 group code" ? geometry.zones.length : 1);
  });
});

describe("connectors", () => {
  it.each([...catalogue.connectors.values()])("$id names each of its pins at most once", (connector) => {
    const pins = connector.circuits.map(({ pin }) => pin);
    expect(new Set(pins).size).toBe(pins.length);
    for (const pin of pins) expect(pin).toBeLessThanOrEqual(connector.pins);
  });
});
