import { describe, expect, it } from "vitest";
import { elementText, MARCHES, marchOf, marchText, parseMarch, RETENTION } from "./march.ts";

describe("the notation of marches", () => {
  it("reads what it writes, and the other way round", () => {
    for (const { elements } of [...MARCHES, RETENTION]) expect(parseMarch(marchText(elements))).toEqual(elements);
    expect(marchText(parseMarch(" ⇕( w0 ) ;⇑(r0, w1); Del;⇓(r1,w0,r0)"))).toBe("⇕(w0);⇑(r0,w1);Del;⇓(r1,w0,r0)");
  });

  it("says what is wrong with an element", () => {
    expect(() => parseMarch("⇕(w0);⇑(r0,x1)")).toThrow("“x1” is no part of a march here; expected r0, r1, w0 or w1.");
    expect(() => parseMarch("⇕(w0);⇑(r1)")).toThrow("r0: every cell holds 0");
    expect(() => parseMarch("⇕(r0)")).toThrow("a write before the first read");
    expect(() => parseMarch("(w0)")).toThrow("an element such as ⇑(r0,w1)");
    expect(() => parseMarch("⇕(w0);Del")).toThrow("an element behind it");
    expect(() => marchOf("march-d")).toThrow("there is mats, mats+");
  });
});

describe("the marches", () => {
  // Operations a cell as the literature counts them (table (g) of the project's facts; March A and G from memory).
  it.each([
    ["mats", 4],
    ["mats+", 5],
    ["mats++", 6],
    ["march-x", 6],
    ["march-y", 8],
    ["march-c-", 10],
    ["march-a", 15],
    ["march-b", 17],
    ["march-g", 23],
  ])("%s takes %in operations", (id, length) => {
    expect(marchOf(id).length).toBe(length);
  });

  it("has March C− as the literature writes it", () => {
    expect(marchOf("march-c-").elements.map(elementText)).toEqual([
      "⇕(w0)",
      "⇑(r0,w1)",
      "⇑(r1,w0)",
      "⇓(r0,w1)",
      "⇓(r1,w0)",
      "⇕(r0)",
    ]);
  });
});
