import { describe, expect, it } from "vitest";
import { parseRoute, routeTo } from "./route.ts";

describe("an address of the workbench", () => {
  it("comes back as it was made, whatever a name holds", () => {
    for (const name of ["tern.img", "side b/data.img", "100 %.img", "a?b#c&d=e", "ü <b>"]) {
      const { parts, query } = parseRoute(routeTo(["images", name], { in: "a/b:", file: name, none: undefined }));
      expect(parts).toEqual(["images", name]);
      expect([...query]).toEqual([
        ["in", "a/b:"],
        ["file", name],
      ]);
    }
  });

  it("that is no proper encoding is taken as it stands", () => {
    expect(parseRoute("#/images/%E0%A4%A")).toEqual({ parts: ["images", "%E0%A4%A"], query: new URLSearchParams() });
    expect(parseRoute("").parts).toEqual([]);
  });
});
