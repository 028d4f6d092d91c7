import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { asciiBytes } from "../bytes/index.ts";
import { InputError } from "../errors/index.ts";
import { type CaptureEntry, capturedBytes, captureHead, captureLine, readCapture } from "./index.ts";

const head = { started: "2026-11-25T10:00:00.000Z", port: "/dev/ttyUSB0", rate: 9600, frame: "7E1" };
const bytes = fc.uint8Array({ maxLength: 40 });
const event = fc.oneof(
  bytes.map((each) => ({ in: Uint8Array.from(each) })),
  bytes.map((each) => ({ out: Uint8Array.from(each) })),
  fc.constantFrom({ break: 250 }, { link: "lost" as const }, { link: "back" as const }),
  fc.record({ cts: fc.boolean(), dsr: fc.boolean(), dcd: fc.boolean() }).map((lines) => ({ lines })),
  fc.record({ dtr: fc.boolean() }).map((set) => ({ set })),
  fc.constant({ settings: { rate: 2400, frame: "8N1" } }),
  fc.string({ unit: "grapheme" }).map((note) => ({ note })),
);
const entries = fc.array(
  fc.tuple(fc.nat(10_000_000), event).map(([micros, each]): CaptureEntry => ({ t: micros / 1e6, ...each })),
);

describe("a session capture", () => {
  it("gives back what was written, byte for byte, and is ASCII", () => {
    fc.assert(
      fc.property(entries, (all) => {
        const text = captureHead(head) + all.map(captureLine).join("");
        expect(text).toMatch(/^[\n\u0020-\u007e]*$/);
        expect(readCapture(asciiBytes(text))).toEqual({ head, entries: all, bad: [] });
      }),
      { seed: 4 },
    );
  });

  it("loses only the line that was being written, wherever it is cut", () => {
    const all: CaptureEntry[] = [
      { t: 0.5, in: asciiBytes("READY\r\n") },
      { t: 1, out: Uint8Array.of(0, 27, 127, 128, 255) },
    ];
    const text = captureHead(head) + all.map(captureLine).join("");
    const heading = captureHead(head).length;
    const second = heading + captureLine(all[0]!).length;
    for (let cut = heading; cut < text.length; cut++) {
      const read = readCapture(asciiBytes(text.slice(0, cut)));
      expect(read.entries).toEqual(all.slice(0, cut < second ? 0 : 1));
      expect(read.torn).toBe(cut === heading || cut === second ? undefined : cut - (cut < second ? heading : second));
    }
  });

  it("reads a line with a blank before it, which goes another way, as it reads the line itself", () => {
    const letter = fc.constantFrom(...'{}":,.0123456789eE+-tinout\\/bfnru00FfAa \u0001\u0085\u00ff');
    const written = fc.oneof(
      fc.tuple(fc.nat(10_000_000), event).map(([micros, each]) => captureLine({ t: micros / 1e6, ...each }).trimEnd()),
      fc
        .tuple(fc.string({ unit: letter, maxLength: 9 }), fc.constantFrom("in", "out"), fc.string({ unit: letter }))
        .map(([t, way, text]) => `{"t":${t},"${way}":"${text}"}`),
      fc
        .tuple(fc.double({ min: 0, noNaN: true }), fc.string({ unit: fc.constantFrom(...'\\u0fF0n"/b x') }))
        .map(([t, text]) => `{"t":${t},"in":"${text}"}`),
    );
    const change = fc.tuple(fc.nat(80), fc.nat(2), fc.string({ unit: letter, maxLength: 2 }));
    let apart = 0;
    fc.assert(
      fc.property(written, fc.option(change, { freq: 2 }), (line, changed) => {
        const [at, gone, more] = changed ?? [0, 0, ""];
        const text = line.slice(0, at) + more + line.slice(at + gone);
        const read = (each: string) =>
          readCapture(Uint8Array.from(`${captureHead(head)}${each}\n`, (character) => character.charCodeAt(0)));
        expect(read(text)).toEqual(read(` ${text}`));
        apart += read(text).entries.length;
      }),
      { seed: 9, numRuns: 3000 },
    );
    expect(apart).toBeGreaterThan(500);
  });

  it("tells lines that are no entries and reads on", () => {
    const text = `${captureHead(head)}nonsense\n{"t":1,"in":"\\u0100"}\n{"t":-1,"note":"x"}\n{"t":2,"note":"y"}\n`;
    const read = readCapture(asciiBytes(text));
    expect(read.entries).toEqual([{ t: 2, note: "y" }]);
    expect(read.bad.map((each) => each.line)).toEqual([2, 3, 4]);
  });

  it("refuses other files with a sentence and takes any bytes", () => {
    expect(() => readCapture(asciiBytes("{}\n"))).toThrow(/no session capture/);
    expect(() => readCapture(asciiBytes('{"format":"rouse-capture","version":2}\n'))).toThrow(/version 2/);
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 300 }), fc.boolean(), (tail, headed) => {
        try {
          readCapture(headed ? Uint8Array.from([...asciiBytes(captureHead(head)), ...tail]) : tail);
        } catch (error) {
          expect(error).toBeInstanceOf(InputError);
        }
      }),
      { seed: 4 },
    );
  });

  it("has a time for each byte of a direction", () => {
    const text = [
      captureHead(head),
      captureLine({ t: 0.25, in: asciiBytes("ab") }),
      captureLine({ t: 0.5, out: asciiBytes("x") }),
      captureLine({ t: 0.75, in: asciiBytes("c") }),
    ].join("");
    const got = capturedBytes(readCapture(asciiBytes(text)), "in");
    expect(String.fromCharCode(...got.bytes)).toBe("abc");
    expect([...got.times]).toEqual([0.25, 0.25, 0.75]);
  });
});
