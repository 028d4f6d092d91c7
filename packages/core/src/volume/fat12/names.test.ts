import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { asciiBytes } from "../../bytes/index.ts";
import {
  attributesInWords,
  dateInWords,
  dateWords,
  isUsualName,
  longName,
  nameBytes,
  nameSum,
  shortName,
} from "./names.ts";

const bytes = (name: string): Uint8Array => asciiBytes(name);

describe("names", () => {
  it("join base and extension without their blanks", () => {
    expect(shortName(bytes("README  TXT"), 0, false)).toBe("README.TXT");
    expect(shortName(bytes("A          "), 0, false)).toBe("A");
  });

  it("put control characters, slashes and percent in percent form", () => {
    const odd = Uint8Array.of(0x41, 0x2f, 0x5c, 0x1b, 0x7f, 0x25, 0xff, 0x20, 0x20, 0x20, 0x20);
    expect(shortName(odd, 0, false)).toBe("A%2F%5C%1B%7F%25%FF");
  });

  it("never read as nothing, as . or as ..", () => {
    expect(shortName(bytes("           "), 0, false)).toBe("%20");
    expect(shortName(bytes("..         "), 0, false)).toBe("%2E%2E");
    expect(shortName(bytes(".       .  "), 0, false)).toBe("%2E%2E%2E");
  });

  it("show a first byte of 05 as the E5 it stands for, and a lost first byte as ?", () => {
    expect(shortName(Uint8Array.of(0x05, ...bytes("BC     X  ")), 0, false)).toBe("σBC.X");
    expect(shortName(Uint8Array.of(0xe5, ...bytes("BC     X  ")), 0, true)).toBe("?BC.X");
  });

  it("come back from their readable form", () => {
    fc.assert(
      fc.property(fc.uint8Array({ minLength: 11, maxLength: 11 }), (stored) => {
        if (stored[0] === 0xe5) stored[0] = 0x05;
        if (!isUsualName(stored, 0)) return;
        expect(nameBytes(shortName(stored, 0, false))).toEqual(stored);
      }),
      { seed: 5, numRuns: 4000 },
    );
  });

  it.each(["", "lower", "TOOLONGNAME", "A.BCDE", "A B*", "A.", ".B", "日本", "A/B"])("refuse %j", (part) => {
    expect(() => nameBytes(part)).toThrow(/cannot be a name on a FAT12 volume/);
  });
});

describe("dates", () => {
  it("are read from the two words", () => {
    // 1988-04-12 is (8 << 9) | (4 << 5) | 12; 10:30:02 is (10 << 11) | (30 << 5) | 1.
    expect(dateInWords(0x108c, 0x53c1)).toBe("1988-04-12 10:30:02");
    expect(dateWords("1988-04-12 10:30:02")).toEqual({ date: 0x108c, time: 0x53c1 });
    expect(dateInWords(0, 0)).toBeUndefined();
  });

  it("that cannot be are shown as the words stored", () => {
    expect(dateInWords(0x1fff, 0xffff)).toBe("no date (1FFF FFFF)");
    expect(dateInWords((9 << 9) | (2 << 5) | 29, 0)).toMatch(/^no date/);
  });

  it.each(["1979-01-01", "1988-02-30", "1988-4-12", "1988-04-12 24:00:00", "1988-04-12 10:61:00"])(
    "refuse %s",
    (date) => {
      expect(() => dateWords(date)).toThrow(/is no date/);
    },
  );
});

describe("attributes and long names", () => {
  it("are told in words", () => {
    expect(attributesInWords(0x27)).toBe("read-only, hidden, system, archive");
    expect(attributesInWords(0x80)).toBe("unused bits 80");
    expect(attributesInWords(0)).toBe("none");
  });

  it("are put together from pieces, last first", () => {
    const piece = (text: string): Uint8Array => {
      const out = new Uint8Array(32).fill(0xff);
      const places = [1, 3, 5, 7, 9, 14, 16, 18, 20, 22, 24, 28, 30];
      places.forEach((place, i) => {
        if (i > text.length) return;
        out[place] = i < text.length ? text.charCodeAt(i) : 0;
        out[place + 1] = 0;
      });
      return out;
    };
    const both = new Uint8Array(64);
    both.set(piece("est.text"), 0);
    both.set(piece("A very long t"), 32);
    expect(longName(both, [0, 32])).toBe("A very long test.text");
  });

  it("are tied to the short name by its sum", () => {
    // Worked by hand: rotate right, add the next byte; eleven blanks give 0x20, 0x30, 0x38 … .
    let sum = 0;
    for (const byte of bytes("FILENAMETXT")) sum = ((sum >> 1) | ((sum & 1) << 7)) + byte;
    expect(nameSum(Uint8Array.of(0x20, 0x20, ...bytes("         ")), 0)).toBe(0xf7);
    expect(nameSum(bytes("FILENAMETXT"), 0)).toBe(sum & 0xff);
  });
});
