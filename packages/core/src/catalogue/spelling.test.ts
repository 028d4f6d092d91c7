import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { findChip, loadCatalogue } from "./index.ts";
import { checkUserFile } from "./user/index.ts";

const catalogue = loadCatalogue();

describe("findChip", () => {
  it.each([...catalogue.chips.keys()])("finds %s by its own name", (part) => {
    expect(findChip(catalogue, part)?.part).toBe(part);
    expect(findChip(catalogue, ` ${part.toLowerCase()} `)?.part).toBe(part);
  });

  it.each([
    ["LS244", "74LS244"],
    ["SN74LS244N", "74LS244"],
    ["DM74LS74AN", "74LS74"],
    ["74LS257B", "74LS257"],
    ["ls 245", "74LS245"],
    ["6850", "MC6850"],
    ["MC6850P", "MC6850"],
    ["MC68B50P", "MC68B50"],
    ["68A09", "MC68A09"],
    ["6809", "MC6809"],
    ["6809E", "MC6809E"],
    ["HD68B09EP", "MC68B09E"],
    ["R6502AP", "6502A"],
    ["Z80A-CPU", "Z80A"],
    ["Z80ASIO", "Z80A-SIO"],
    ["Z80 SIO", "Z80-SIO"],
    ["TMS4116-20NL", undefined],
    ["MK4116N-2", "4116"],
    ["HM6116P", "6116"],
    ["HM6116LP-3", undefined],
    ["62256-70", "62256"],
    ["2114-3", "2114-3"],
    ["LM7805CT", "7805"],
    ["µA7805", "7805"],
    ["LM323K", "LM323"],
    ["MAX232CPE", "MAX232"],
    ["DS1488N", "MC1488"],
    ["75189", "SN75189"],
    ["D8251AC", "8251A"],
    ["P8085AH", "8085A"],
    ["8080", "8080A"],
    ["R6551AP", "6551"],
  ])("takes %s for %s", (spelling, part) => {
    expect(findChip(catalogue, spelling)?.part).toBe(part);
  });

  it.each([
    "74HCT244", // another family has other currents
    "74ALS244",
    "74244",
    "54LS00",
    "65C02",
    "Z80H", // a faster grade than any that is known
    "2114-7", // the plain part claims a speed
    "SN74S189",
    "",
    "regulator",
    "7".repeat(100),
  ])("does not take %s for anything", (spelling) => {
    expect(findChip(catalogue, spelling)).toBeUndefined();
  });

  it("lets a user's own part stand before a spelling of another", () => {
    const mine = { part: "8085", title: "my own", kind: "cpu" };
    const own = loadCatalogue([checkUserFile("mine.yaml", { chips: [mine] })]);
    expect(findChip(own, "8085")?.title).toBe("my own");
    expect(findChip(own, "P8085")?.title).toBe("my own");
    expect(findChip(catalogue, "8085")?.part).toBe("8085A");
  });

  it("takes any text at all, and gives a part of the catalogue or none", () => {
    fc.assert(
      fc.property(fc.string({ unit: "binary" }), (text) => {
        const chip = findChip(catalogue, text);
        expect(chip === undefined || catalogue.chips.get(chip.part) === chip).toBe(true);
      }),
      { seed: 20261125 },
    );
  });
});
