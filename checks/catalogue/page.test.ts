import { readFileSync } from "node:fs";
import { findChip, loadCatalogue } from "@rouse/core/catalogue";
import { checkUserFile } from "@rouse/core/catalogue/user";
import { describe, expect, it } from "vitest";
import { parse } from "yaml";

const page = readFileSync(new URL("../../docs/catalogue.md", import.meta.url), "utf8");

describe("the page about the catalogue", () => {
  it("gives an example file that is taken, and does what the page says", () => {
    const [, example = ""] = /```yaml\n(.*?)```/s.exec(page) ?? [];
    const catalogue = loadCatalogue([checkUserFile("catalogue/mine.yaml", parse(example))]);
    const ram = catalogue.chips.get("74LS189")!;
    expect(ram.supply[0]!.max).toMatchObject({
      value: { text: "55 mA" },
      source: { id: "book-1984", kind: "data sheet" },
    });
    expect(ram.memory).toMatchObject({ words: 16, access: { value: { text: "70 ns" }, note: "address to output" } });
    expect(catalogue.chips.get("74LS85")!.supply[0]!.typical!.source.kind).toBe("user");
    expect(catalogue.terminals.get("screen-80-cursor")!.frames).toEqual(["7E1", "8N1"]);
  });

  it("names parts that are there", () => {
    const catalogue = loadCatalogue();
    for (const part of [
      "74LS244",
      "MC6850",
      "4164-15",
      "LS244",
      "SN74LS244N",
      "MC6850P",
      "6850",
      "Z80A-CPU",
      "4116-20",
    ])
      expect(findChip(catalogue, part)).toBeDefined();
    expect(findChip(catalogue, "4116-3")?.part).toBe("4116");
    expect(findChip(catalogue, "74HCT244")).toBeUndefined();
    expect(catalogue.drives.has("five-inch-40-track-two-side")).toBe(true);
    expect(catalogue.media.has("three-inch-half-double")).toBe(true);
  });
});
