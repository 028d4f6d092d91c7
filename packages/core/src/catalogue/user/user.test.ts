import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { InputError } from "../../errors/index.ts";
import { catalogueProblems, checkUserFile } from "./index.ts";

const chip = (change: object) => ({ chips: [{ part: "74LS85", title: "4-bit comparator", kind: "logic", ...change }] });

describe("checkUserFile", () => {
  it.each<[string, unknown, string]>([
    ["a list", [], "mine.yaml: expected a group of sources, chips"],
    ["nothing", null, "mine.yaml: expected a group of sources, chips"],
    ["a misspelt kind", { chip: [] }, "“chip” is no key here; did you mean “chips”?"],
    ["a misspelt key", chip({ suply: [] }), "mine.yaml, chips[0]: “suply” is no key here; did you mean “supply”?"],
    ["a part without a title", { chips: [{ part: "74LS85", kind: "logic" }] }, "chips[0].title: expected a text"],
    ["a bare part number", { chips: [{ part: 6850 }] }, "chips[0].part: expected a text: put it in quotes"],
    ["a value without a unit", chip({ supply: [{ rail: "+5 V", max: 20 }] }), "chips[0].supply[0].max: 20 has no unit"],
    [
      "a value in the wrong unit",
      chip({ supply: [{ rail: "+5 V", max: "20 ms" }] }),
      "mine.yaml, chips[0].supply[0].max: “20 ms” has a unit of time, where current belongs",
    ],
    [
      "a rail that is none",
      chip({ supply: [{ rail: "5V", max: "20 mA" }] }),
      "chips[0].supply[0].rail: expected a rail like “+5 V”",
    ],
    [
      "a source that is nowhere",
      chip({ source: "my-book", supply: [{ rail: "+5 V", max: "20 mA" }] }),
      "there is no source “my-book”",
    ],
    ["a source that is taken", { sources: [{ id: "memory", title: "mine" }] }, "“memory” is already there"],
    [
      "a frame that YAML read as a number",
      { terminals: [{ id: "screen-80-plain", frames: [70] }] },
      'terminals[0].frames[0]: expected a text: put it in quotes, as in "7E1"',
    ],
    [
      "a capacity that is not the sum",
      { recordings: [{ id: "ecma-54", capacity: "250 KiB" }] },
      "recordings[0].capacity: the zones hold 256256 bytes, where “250 KiB” is stated",
    ],
    [
      "a track without a zone",
      { recordings: [{ id: "ecma-54", geometry: { tracks: 80 } }] },
      "No zone of the geometry covers track 77",
    ],
  ])("refuses %s and says where and why", (_, data, sentence) => {
    expect(() => checkUserFile("mine.yaml", data)).toThrow(InputError);
    expect(() => checkUserFile("mine.yaml", data)).toThrow(sentence);
  });

  it("lists all that is wrong, with paths", () => {
    const data = { ...chip({ kind: "logik", suply: [] }), drives: [{ id: "five-inch-high", tracks: -1 }] };
    expect(catalogueProblems(data).map(({ path }) => path.join("."))).toEqual([
      "chips.0.kind",
      "chips.0",
      "drives.0.tracks",
    ]);
    expect(() => checkUserFile("mine.yaml", data)).toThrow("(and 2 more)");
  });

  it("takes a file that is sound", () => {
    const data = { media: [{ id: "five-inch-high", coercivity: "640 Oe" }] };
    expect(checkUserFile("mine.yaml", data)).toEqual({ file: "mine.yaml", data });
    expect(catalogueProblems({})).toEqual([]);
  });

  it("meets any data at all with an InputError or takes it", () => {
    fc.assert(
      fc.property(
        fc.oneof(fc.jsonValue(), fc.record({ chips: fc.jsonValue(), recordings: fc.array(fc.jsonValue()) })),
        (data) => {
          try {
            checkUserFile("any.yaml", data);
          } catch (error) {
            expect(error).toBeInstanceOf(InputError);
          }
        },
      ),
      { seed: 20261125 },
    );
  });
});
