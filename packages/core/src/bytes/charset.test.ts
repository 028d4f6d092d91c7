import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { InputError } from "../errors/index.ts";
import { byteOf, CODES, characterOf, decodeText, encodeText } from "./charset.ts";
import { asciiBytes } from "./text.ts";

describe("decodeText", () => {
  it("shows control characters and never passes one on", () => {
    expect(decodeText(Uint8Array.of(0x41, 0x1b, 0x5b, 0x32, 0x4a, 0x00, 0x7f, 0x9b), "plain")).toBe(
      "A\\x1B[2J\\x00\\x7F\\x9B",
    );
  });

  it("ends lines as asked, whatever ended them in the bytes", () => {
    const mixed = asciiBytes("a\rb\r\nc\nd\n\r\re");
    expect(decodeText(mixed, "plain")).toBe("a\nb\nc\nd\n\n\ne");
    expect(decodeText(mixed, "plain", { eol: "crlf" })).toBe("a\r\nb\r\nc\r\nd\r\n\r\n\r\ne");
    expect(decodeText(mixed, "plain", { eol: "cr" })).toBe("a\rb\rc\rd\r\r\re");
    expect(decodeText(mixed, "plain", { eol: "keep" })).toBe("a\rb\r\nc\nd\n\r\re");
  });

  it("exchanges the cases of letters, and takes the upper place for capitals too", () => {
    expect(decodeText(Uint8Array.of(0x48, 0xc9, 0x69, 0x20, 0x31, 0x5c, 0x5e, 0x5f), "case-exchanged")).toBe(
      "hII 1£↑←",
    );
    expect([...encodeText("hI", "case-exchanged")]).toEqual([0x48, 0xc9]);
  });

  it("keeps a written escape apart from a real one", () => {
    const written = asciiBytes("\\x1B and \\y");
    expect(decodeText(written, "plain")).toBe("\\x5Cx1B and \\y");
    expect(encodeText(decodeText(written, "plain"), "plain")).toEqual(written);
  });

  it.each(CODES.map((code) => code.name))("gives bytes back through the %s code", (name) => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 80 }), (bytes) => {
        const shown = decodeText(bytes, name, { eol: "keep" });
        for (const character of shown) {
          const point = character.codePointAt(0)!;
          expect(point < 0x20 ? "\t\r\n".includes(character) : point < 0x7f || point >= 0xa0).toBe(true);
        }
        const lowCapital = (byte: number): boolean => name === "case-exchanged" && byte >= 0x61 && byte <= 0x7a;
        expect(encodeText(shown, name)).toEqual(bytes.map((byte) => (lowCapital(byte) ? byte + 0x60 : byte)));
      }),
      { seed: 11, numRuns: 300 },
    );
  });

  it("gives bytes back where they spell escapes", () => {
    const piece = fc.constantFrom("\\", "x", "5", "C", "1", "B", "\r", "\n");
    fc.assert(
      fc.property(fc.array(piece, { maxLength: 30 }), (pieces) => {
        const bytes = asciiBytes(pieces.join(""));
        expect(encodeText(decodeText(bytes, "plain", { eol: "keep" }), "plain")).toEqual(bytes);
      }),
      { seed: 12, numRuns: 500 },
    );
  });
});

describe("encodeText", () => {
  it("names the character that a code lacks", () => {
    expect(() => encodeText("a{", "DE")).toThrow(InputError);
    expect(() => encodeText("a{", "DE")).toThrow("The DE code has no character “{” (place 2 of the text).");
  });
});

describe("byteOf", () => {
  it("finds a national letter and says -1 for none", () => {
    expect(byteOf("Ö", "SE")).toBe(0x5c);
    expect(byteOf("Ö", "plain")).toBe(-1);
    expect(byteOf("", "plain")).toBe(-1);
    expect(characterOf(0x5c, "SE")).toBe("Ö");
    expect(characterOf(0x07, "SE")).toBe("");
  });
});
