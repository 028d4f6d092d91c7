import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { asciiBytes } from "../bytes/index.ts";
import { loadCatalogue } from "../catalogue/index.ts";
import { type Ability, abilityOf, idealAbility, type Screen } from "../terminal/index.ts";
import type { Capture } from "./capture.ts";
import { runsOf, screenAt } from "./replay.ts";
import { SessionScreens } from "./seek.ts";

const captureOf = (pieces: readonly (readonly [t: number, bytes: Uint8Array])[]): Capture => ({
  head: { started: "2026-06-06T10:00:00Z", port: "none", rate: 2400, frame: "8N1" },
  entries: pieces.map(([t, bytes]) => ({ t, in: bytes })),
  bad: [],
});

/** All that can be seen of a screen, and how it goes on with what comes next. */
function all(screen: Screen, more: Uint8Array) {
  const seen = () => ({
    rows: Array.from({ length: screen.rows }, (_, row) => runsOf(screen, row)),
    cursor: screen.cursor,
    rendition: screen.rendition,
    atRest: screen.atRest,
    bells: screen.bells,
    scrolled: screen.page.scrolledOff,
  });
  const before = seen();
  screen.takeReplies();
  screen.write(more);
  return [before, seen(), [...screen.takeReplies()]];
}

/** Terminals with codes of their own, one on paper, and one that obeys everything. */
const ABILITIES: readonly Ability[] = [
  idealAbility(12, 4),
  ...[...loadCatalogue().terminals.values()].map((each) => abilityOf(each, { columns: 12, rows: 4 })),
];

describe("a session opened for seeking", () => {
  it("shows at every time what reading it from the start shows, and goes on the same from there", () => {
    const piece = fc.oneof(
      fc.uint8Array({ maxLength: 12 }),
      fc
        .constantFrom(
          "\u001b[2J",
          "\u001b[7m",
          "a line\r\n",
          "\u001b[3;2H",
          "\u001b[4h",
          "\u001b[20h",
          "\u001b[6n",
          "\u001bH\u001b[3g",
          "\u001b[1",
          ";5",
          "\t\u0007",
          "\u001b=",
          "\u001bY",
          "abc\u001b[5b",
          "\u009b31m",
          "\u001b]0;x",
        )
        .map((text) => Uint8Array.from(text, (each) => each.charCodeAt(0))),
    );
    fc.assert(
      fc.property(
        fc.constantFrom(...ABILITIES),
        fc.array(fc.tuple(fc.double({ min: -0.5, max: 2, noNaN: true }), piece), { maxLength: 30 }),
        fc.integer({ min: 1, max: 40 }),
        fc.double({ min: -1, max: 40, noNaN: true }),
        fc.double({ min: 0, max: 5, noNaN: true }),
        piece,
        (ability, pieces, apart, seconds, later, more) => {
          let t = 1;
          const capture = captureOf(
            pieces.map(([gap, bytes]) => {
              t = Math.max(0, t + gap);
              return [t, Uint8Array.from(bytes)] as const;
            }),
          );
          const session = new SessionScreens(capture, ability, apart);
          expect(all(session.at(seconds), more)).toEqual(all(screenAt(capture, ability, seconds), more));
          // What a caller does to a screen leaves the session as it was; it goes on from there, and back.
          for (const then of [seconds, seconds + later, seconds])
            expect(all(session.at(then), more)).toEqual(all(screenAt(capture, ability, then), more));
        },
      ),
      { seed: 6, numRuns: 400 },
    );
  });

  it("reads no more than lies between two kept screens, of which there are not too many", () => {
    const line = asciiBytes("One more line of a long session.\r\n");
    const capture = captureOf(Array.from({ length: 2000 }, (_, k) => [k, line] as const));
    const session = new SessionScreens(capture, idealAbility(40, 10), 1);
    expect(session.kept).toBeGreaterThan(390);
    expect(session.kept).toBeLessThanOrEqual(400);
    expect(session.times.at(-1)).toBe(1999);
    expect(session.at(1500).page.scrolledOff).toBe(1492);
  });

  it("of nothing is a blank screen", () => {
    const session = new SessionScreens(captureOf([]), idealAbility(20, 3));
    expect(session.times).toHaveLength(0);
    expect(session.at(5).lines()).toEqual(["", "", ""]);
  });
});
