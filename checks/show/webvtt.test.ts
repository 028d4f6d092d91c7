// Our WebVTT files by the parser of the W3C community's validator (registry: webvtt-parser, CC0), which follows
// "WebVTT: The Web Video Text Tracks Format" (W3C) clause by clause.
import { asciiBytes } from "@rouse/core/bytes";
import { type Capture, type Cue, captionCues, chapterCues, offsetFrom, writeVtt } from "@rouse/core/show";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { WebVTTParser } from "webvtt-parser";

/** The character references that WebVTT needs, as the parser wants them. */
const REFERENCES = { "&amp;": "&", "&lt;": "<", "&gt;": ">" };
const parse = (text: string, mode?: "chapters") => new WebVTTParser(REFERENCES).parse(text, mode);
const textOf = (cue: ReturnType<typeof parse>["cues"][number]): string =>
  cue.tree.children.map((each) => each.value ?? `<${each.type}>`).join("");

const capture: Capture = {
  head: { started: "2026-06-06T13:00:00.000Z", port: "line", rate: 2400, frame: "7E1" },
  bad: [],
  entries: [
    { t: 0, note: "clap of the slate" },
    { t: 1.5, in: asciiBytes("Larkfield 9, monitor 1\r\n") },
    { t: 2, in: asciiBytes("48 K main memory good\r\n") },
    { t: 12, in: asciiBytes("login: ") },
    { t: 14, out: asciiBytes("guest\r") },
    { t: 14.1, in: asciiBytes("guest\r\n") },
    { t: 20, in: asciiBytes("a < b --> c & <i>d</i>\r\n") },
  ],
};

describe("a caption file", () => {
  it("is read by the reference parser without a complaint, at the camera's times", () => {
    const offset = offsetFrom(capture, { appears: "login:" }, 32.25);
    expect(offset).toBe(20.25);
    const { cues, errors } = parse(writeVtt(captionCues(capture), offset));
    expect(errors).toEqual([]);
    expect(cues.map((each) => [each.startTime, each.endTime, textOf(each)])).toEqual([
      [21.75, 26.25, "Larkfield 9, monitor 1\n48 K main memory good"],
      [32.25, 38.35, "login: guest"],
      [40.25, 44.25, "a < b --> c & <i>d</i>"],
    ]);
  });

  it("leaves out what lies before the camera's zero", () => {
    const { cues, errors } = parse(writeVtt(captionCues(capture), -13));
    expect(errors).toEqual([]);
    expect(cues.map((each) => each.startTime)).toEqual([0, 7]);
  });

  it("is sound for any text, times and offset, and loses no word", () => {
    const piece = fc.constantFrom(
      "-->",
      "<b>",
      "</v>",
      "&amp;",
      "&",
      "\n\n",
      "\r",
      "NOTE",
      "WEBVTT",
      "\u0000",
      "\u2028",
      "é",
      " ",
      "x",
    );
    const cue = fc.record({
      start: fc.double({ min: 0, max: 400_000, noNaN: true }),
      length: fc.double({ min: 0, max: 10, noNaN: true }),
      text: fc.array(fc.oneof(piece, fc.string()), { maxLength: 6 }).map((each) => each.join("")),
    });
    fc.assert(
      fc.property(fc.array(cue, { maxLength: 8 }), fc.double({ min: 0, max: 100, noNaN: true }), (some, offset) => {
        const cues: Cue[] = some.map(({ start, length, text }) => ({ start, end: start + length, text }));
        const words = (text: string) => text.split(/[\s\u0000-\u001f\u007f-\u009f]+/).join("");
        const wanted = [...cues]
          .sort((a, b) => a.start - b.start)
          .map((each) => words(each.text))
          .filter((each) => each !== "");
        for (const mode of [undefined, "chapters"] as const) {
          const parsed = parse(writeVtt(cues, offset), mode);
          expect(parsed.errors).toEqual([]);
          // The parser puts cues that start together in the order of their ends.
          const inOrder = [...parsed.cues].sort((a, b) => Number(a.id) - Number(b.id));
          expect(inOrder.map((each) => words(textOf(each)))).toEqual(wanted);
        }
      }),
      { seed: 6, numRuns: 300 },
    );
  });
});

describe("a chapter file", () => {
  it("is read as chapters without a complaint, one after the other", () => {
    const typed = { ...capture, entries: capture.entries.filter((each) => !("note" in each)) };
    for (const each of [capture, typed]) {
      const { cues, errors } = parse(writeVtt(chapterCues(each), 3), "chapters");
      expect(errors).toEqual([]);
      expect(cues).toHaveLength(1);
    }
    expect(textOf(parse(writeVtt(chapterCues(typed))).cues[0]!)).toBe("guest");
  });
});
