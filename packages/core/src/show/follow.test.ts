import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { type Capture, capturedBytes, followScript, placeIn } from "./index.ts";
import { readScript } from "./script/index.ts";

const bytes = (text: string) => Uint8Array.from(text, (each) => each.charCodeAt(0));
type Said = readonly [t: number, way: "in" | "out", text: string];
const capture = (...said: readonly Said[]): Capture => ({
  head: { started: "2026-06-06T10:00:00Z", port: "p", rate: 2400, frame: "8N1" },
  entries: said.map(([t, way, text]) => (way === "in" ? { t, in: bytes(text) } : { t, out: bytes(text) })),
  bad: [],
});
const script = readScript(`show: 1
title: t
scenes:
  - {name: on, do: press}
  - {name: start, expect: "login: "}
  - {name: in, type: visitor, expect: "tern: "}
  - {name: list, type: list, expect: "tern: "}
  - {name: bye, type: bye}
`);
const placeAfter = (...said: readonly Said[]) => placeIn(followScript(script, capture(...said)));

describe("the place of a running session in its script", () => {
  const login = [4, "in", "hello\r\nlogin: "] as const;
  const typed = [6, "out", "visitor\r"] as const;
  it("moves on when what is expected is there", () => {
    expect(placeAfter()).toEqual({ scene: 0, since: 0 });
    expect(placeAfter([1, "in", "hel"])).toEqual({ scene: 0, since: 0 });
    expect(placeAfter(login)).toEqual({ scene: 2, since: 4 });
    expect(placeAfter(login, typed)).toEqual({ scene: 2, since: 4 });
    expect(placeAfter(login, typed, [9, "in", "welcome\r\ntern: "])).toEqual({ scene: 3, since: 9 });
  });

  it("does not take a second prompt for a scene whose words were never typed", () => {
    const twice = [login, typed, [9, "in", "tern: \r\ntern: "]] as const;
    expect(placeAfter(...twice)).toEqual({ scene: 3, since: 9 });
    expect(placeAfter(...twice, [10, "out", "list\r"], [12, "in", "a b\r\ntern: "])).toEqual({ scene: 4, since: 12 });
  });

  it("goes by what is shown where nothing that was typed is in the capture", () => {
    expect(placeAfter(login, [9, "in", "tern: "], [12, "in", "a\r\ntern: "])).toEqual({ scene: 4, since: 12 });
  });

  it("ends after the last", () => {
    const all = [
      login,
      typed,
      [9, "in", "tern: "],
      [10, "out", "list\r"],
      [12, "in", "tern: "],
      [13, "out", "bye\r"],
    ] as const;
    expect(placeAfter(...all)).toEqual({ scene: 5, since: 13 });
  });
});

describe("a scene in a session", () => {
  it("is found where a search of the whole text finds it, however it came", () => {
    const piece = fc.tuple(
      fc.integer({ min: -1, max: 3 }),
      fc.constantFrom("in", "out"),
      fc.string({ unit: fc.constantFrom("a", "b", "\u00e1", "\r"), maxLength: 4 }),
    );
    const wanted = fc.string({ unit: fc.constantFrom("a", "b"), minLength: 1, maxLength: 3 });
    fc.assert(
      fc.property(fc.array(piece, { maxLength: 20 }), wanted, wanted, (pieces, type, expected) => {
        let clock = 1;
        const said = pieces.map(([gap, way, text]): Said => {
          clock = Math.max(0, clock + gap);
          return [clock, way as "in" | "out", text];
        });
        const session = capture(...said);
        const went = (way: "in" | "out") => {
          const { bytes: all, times } = capturedBytes(session, way);
          return { text: String.fromCharCode(...all.map((each) => each & 0x7f)), times };
        };
        const [shown, typed] = [went("in"), went("out")];
        const at = typed.text.indexOf(type);
        const end = at + type.length;
        const typedAt = at < 0 ? undefined : typed.times[typed.text[end] === "\r" ? end : end - 1]!;
        const seen = [...shown.times.keys()]
          .filter((each) => shown.text.startsWith(expected, each))
          .map((each) => shown.times[each + expected.length - 1]!)
          .find((each) => each >= (typedAt ?? 0));
        const scene = { name: "s", type, expect: expected };
        const [found] = followScript({ ...script, scenes: [scene] }, session);
        expect(found).toMatchObject({ from: 0, typed: typedAt, seen });
      }),
      { seed: 3, numRuns: 1000 },
    );
  });
});
