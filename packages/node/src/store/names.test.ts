import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { clashKey, hostName, storedName } from "./names.ts";

/** Names as volumes hold them, with what hosts dislike over-represented. */
const anyName = fc.oneof(
  fc.string({ unit: "binary", maxLength: 40 }),
  fc.string({ unit: fc.constantFrom(..."%/\\:.. \u0301A*+-aé\ud800\u0000CON"), maxLength: 12 }),
  fc.string({ unit: "grapheme", minLength: 200, maxLength: 600 }),
  fc.constantFrom("", ".", "..", "CON", "con.txt", "LPT1", "%-", "%+/%+", "a ", "b.", "/etc/passwd", "C:\\x", "~"),
);

describe("hostName", () => {
  it("is undone by storedName for any name at all", () => {
    fc.assert(
      fc.property(anyName, fc.nat(50), (name, more) => {
        const host = hostName(name, more);
        expect(storedName(host)).toBe(name);
        // Again on a host that gives names back decomposed.
        expect(storedName(host.normalize("NFD"))).toBe(name);
        expect(hostName(storedName(host), more)).toBe(host);
      }),
      { seed: 7, numRuns: 1000 },
    );
  });

  it("gives parts that every host can hold", () => {
    fc.assert(
      fc.property(anyName, (name) => {
        for (const part of hostName(name).split("/")) {
          expect(Buffer.byteLength(part)).toBeLessThanOrEqual(255);
          expect(part).toMatch(/^[^\u0000-\u001f"*:<>?\\|\u007f]+$/);
          expect(part).not.toMatch(/^\.|[. ]$/);
          expect(part).not.toMatch(/^(con|prn|aux|nul|com\d|lpt\d)[ ]*(\.|$)/i);
        }
      }),
      { seed: 7, numRuns: 1000 },
    );
  });

  it("leaves ordinary names as they are", () => {
    for (const name of ["README.TXT", "start up", "é", "a-b_c~1", "x+y=(z)"]) expect(hostName(name)).toBe(name);
  });

  it("writes reserved names readably", () => {
    expect(hostName("..")).toBe("%2E%2E");
    expect(hostName("a/b")).toBe("a%2Fb");
    expect(hostName("100%")).toBe("100%25");
    expect(hostName("con.sys")).toBe("%63on.sys");
    expect(hostName("console")).toBe("console");
    expect(hostName("end.")).toBe("end%2E");
    expect(hostName("x\u202Etxt")).toBe("x%u202Etxt");
  });
});

describe("storedName", () => {
  it("refuses a path that hostName never gives", () => {
    for (const path of ["a/b", "50%", "%zz", "a%-b", "%u12"])
      expect(() => storedName(path)).toThrow(/not the host name/);
  });
});

describe("clashKey", () => {
  it("takes names for one that differ in case only", () => {
    expect(clashKey("ReadMe")).toBe(clashKey("README"));
    expect(clashKey("readme")).not.toBe(clashKey("readm"));
  });
});
