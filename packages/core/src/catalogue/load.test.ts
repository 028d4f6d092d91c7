import { describe, expect, it } from "vitest";
import { loadCatalogue } from "./index.ts";
import { checkUserFile } from "./user/index.ts";

describe("loadCatalogue", () => {
  it("makes the built-in catalogue once", () => {
    expect(loadCatalogue()).toBe(loadCatalogue([]));
    expect(loadCatalogue().chips.get("74LS244")).toBe(loadCatalogue().chips.get("74LS244"));
  });

  it("leaves out what is not known, and never makes a default", () => {
    const { chips } = loadCatalogue();
    expect(chips.get("4116")!.memory!.access).toBeUndefined();
    expect(chips.get("74LS999")).toBeUndefined();
  });

  it("gives a value the source and note of its own, of its group, or of its part", () => {
    const chip = loadCatalogue().chips.get("74LS04")!;
    expect(chip.supply[0]!.max).toMatchObject({ source: { id: "ls-sheets" }, note: "all outputs low" });
    expect(chip.output!.low).toMatchObject({ source: { id: "sdls025b" }, note: expect.stringContaining("family") });
    const and = loadCatalogue().chips.get("74LS08")!;
    expect(and.delays[0]!.max!.source.kind).toBe("memory");
  });

  it("lists parts as a map does", () => {
    const { drives } = loadCatalogue();
    const seen: string[] = [];
    drives.forEach((drive, id) => {
      seen.push(id);
      expect(drive.id).toBe(id);
    });
    expect(seen).toEqual([...drives.keys()]);
    expect([...drives].length).toBe(drives.size);
  });
});

describe("a user's file", () => {
  const file = (data: unknown) => loadCatalogue([checkUserFile("catalogue/mine.yaml", data)]);

  it("overrides a value and keeps the rest, and is shown as the user's own", () => {
    const chip = file({ chips: [{ part: "7805", regulator: { current: "1.5 A" } }] }).chips.get("7805")!;
    expect(chip.regulator!.current).toMatchObject({
      value: { value: 1.5 },
      source: { kind: "user", title: "your own file catalogue/mine.yaml" },
    });
    expect(chip.regulator!.dropout!.source.id).toBe("l78");
    expect(loadCatalogue().chips.get("7805")!.regulator!.current!.value.value).toBe(1);
  });

  it("adds a part, with sources of its own", () => {
    const catalogue = file({
      sources: [{ id: "my-meter", title: "measured on the bench" }],
      chips: [
        {
          part: "74LS85",
          title: "4-bit comparator",
          kind: "logic",
          supply: [{ rail: "+5 V", max: { is: "20 mA", source: "my-meter", note: "one sample" } }],
        },
      ],
    });
    const chip = catalogue.chips.get("74LS85")!;
    expect(chip.supply[0]!.max).toMatchObject({
      source: { kind: "user", title: "measured on the bench" },
      note: "one sample",
    });
    expect(chip.delays).toEqual([]);
    expect(catalogue.chips.size).toBe(loadCatalogue().chips.size + 1);
  });

  it("lays one file over another, in order", () => {
    const first = checkUserFile("catalogue/a.yaml", { chips: [{ part: "7805", regulator: { current: "1.5 A" } }] });
    const second = checkUserFile("catalogue/b.yaml", { chips: [{ part: "7805", regulator: { current: "2 A" } }] });
    const chip = loadCatalogue([first, second]).chips.get("7805")!;
    expect(chip.regulator!.current).toMatchObject({ value: { value: 2 }, source: { id: "user:catalogue/b.yaml" } });
  });

  it("refuses a source under an id that another file took", () => {
    const one = checkUserFile("a.yaml", { sources: [{ id: "mine", title: "one" }] });
    const two = checkUserFile("b.yaml", { sources: [{ id: "mine", title: "two" }] });
    expect(() => loadCatalogue([one, two])).toThrow("b.yaml: the source “mine” is already there");
  });
});
