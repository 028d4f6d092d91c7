import { captureHead, captureLine, framesOf, readCapture, runsOf, screenAt } from "@rouse/core/show";
import { idealAbility } from "@rouse/core/terminal";
import { describe, expect, it } from "vitest";
import { filmOf, pacingOf } from "./playing.ts";

const bytes = (text: string) => Uint8Array.from(text, (each) => each.charCodeAt(0));
/** A session of many frames that scrolls, jumps and is coloured. */
const capture = readCapture(
  bytes(
    captureHead({ started: "2026-06-06T10:00:00Z", port: "p", rate: 2400, frame: "8N1" }) +
      Array.from({ length: 400 }, (_, k) => {
        const jump = k % 37 === 5 ? "\x1b[3;10H" : k % 50 === 7 ? "\x1b[2J\x1b[H" : "";
        return captureLine({ t: k * 0.5, in: bytes(`${jump}line ${k} \x1b[1mbold\x1b[0m\r\n`) });
      }).join(""),
  ),
);
const ability = idealAbility();
const frames = framesOf(capture, ability);

describe("a film of a session", () => {
  const film = filmOf(frames, ability.rows);

  it("shows at every moment what the terminal model shows, wherever it is entered", () => {
    for (const seconds of [199, 0, 63.6, 64.1, 3.2, 150, 12.5, -1]) {
      const screen = screenAt(capture, ability, seconds);
      const shown = film.shown(film.frameAt(seconds));
      expect(shown.rows, String(seconds)).toEqual(
        Array.from({ length: ability.rows }, (_, row) => runsOf(screen, row)),
      );
      if (seconds >= 0) expect(shown.cursor).toEqual([screen.cursor.row, screen.cursor.column]);
    }
  });
});

describe("the pace", () => {
  it("leaves true times alone, and cuts long waits, there and back", () => {
    const odd = [0, 10, 11, 40].map((t) => ({ t, up: 0, rows: [], cursor: [0, 0] as const }));
    expect(pacingOf(odd, null).length).toBe(40);
    const cut = pacingOf(odd, 2);
    expect(cut.length).toBe(5);
    expect(cut.played(10)).toBe(2);
    expect(cut.captured(2)).toBe(10);
    expect(cut.captured(1)).toBe(5);
    expect(cut.captured(99)).toBe(40);
    for (const at of [0, 3, 10.5, 25, 40]) expect(cut.captured(cut.played(at))).toBeCloseTo(at, 9);
    expect(pacingOf([], 2).length).toBe(0);
  });
});
