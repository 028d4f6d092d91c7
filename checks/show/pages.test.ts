// @vitest-environment jsdom
// Drawings and pages by a browser's own parsers (jsdom: WHATWG HTML and DOM Parsing), and the page's player, run there,
// against the terminal model.
import { asciiBytes } from "@rouse/core/bytes";
import { type Capture, screenAt, screenSvg, sessionHtml } from "@rouse/core/show";
import { idealAbility } from "@rouse/core/terminal";
import fc from "fast-check";
import { describe, expect, it } from "vitest";

const ability = idealAbility(20, 5);
const captureOf = (pieces: readonly (readonly [t: number, text: string | Uint8Array])[]): Capture => ({
  head: { started: "2026-06-06T13:00:00.000Z", port: "line", rate: 2400, frame: "8N1" },
  bad: [],
  entries: pieces.map(([t, each]) => ({ t, in: typeof each === "string" ? asciiBytes(each) : each })),
});
const any = fc.array(
  fc.tuple(
    fc.double({ min: 0.05, max: 3, noNaN: true }),
    fc.oneof(
      fc.constantFrom(
        "\u001b[7mx\u001b[0m",
        "\u001b[2J\u001b[H",
        "</script>",
        "<!--",
        "]]>",
        "&lt;",
        "line\r\n",
        "\u001b[3;4H",
        "\u001b[1;4mbold",
      ),
      fc.string({ maxLength: 12 }),
      fc.uint8Array({ maxLength: 12 }).map((each) => Uint8Array.from(each)),
    ),
  ),
  { minLength: 1, maxLength: 10 },
);
/** Gaps to times. */
const timed = (pieces: readonly (readonly [number, string | Uint8Array])[]) => {
  let now = 0;
  return pieces.map(([gap, each]) => {
    now += gap;
    return [now, each] as const;
  });
};

describe("a still", () => {
  it("is XML with a letter in every column, whatever is on the screen", () => {
    fc.assert(
      fc.property(any, (pieces) => {
        const screen = screenAt(captureOf(timed(pieces)), ability, Number.POSITIVE_INFINITY);
        const svg = new DOMParser().parseFromString(screenSvg(screen, "a <still> & more"), "image/svg+xml");
        expect(svg.querySelector("parsererror")).toBeNull();
        expect(svg.querySelector("script")).toBeNull();
        expect(svg.querySelector("title")!.textContent).toBe("a <still> & more");
        for (const text of svg.querySelectorAll("text"))
          expect(text.getAttribute("x")!.split(" ")).toHaveLength([...text.textContent!].length);
        expect(svg.querySelector("desc")!.textContent).toBe(screen.lines().join("\n").trimEnd());
      }),
      { seed: 6, numRuns: 100 },
    );
  });
});

describe("a page that plays a session", () => {
  /** Opens the page here and gives the screen's text at a share of its length. */
  function open(html: string) {
    const page = new DOMParser().parseFromString(html, "text/html");
    const program = [...page.querySelectorAll("script")].filter((each) => each.type !== "application/json");
    expect(program).toHaveLength(1);
    document.body.innerHTML = page.body.innerHTML;
    new Function(program[0]!.textContent!)();
    const place = document.querySelector<HTMLInputElement>("#place")!;
    return (share: number): string[] => {
      place.max = "1000000";
      place.value = String(Math.round(share * 1_000_000));
      place.dispatchEvent(new Event("input"));
      return [...document.querySelectorAll("#screen > div")].map((row) =>
        row.textContent!.replaceAll("\u00a0", " ").trimEnd(),
      );
    };
  }

  it("shows at any time what the terminal showed then, forwards and backwards", () => {
    const linesAt = (capture: Capture, t: number) =>
      screenAt(capture, ability, t)
        .lines()
        .map((each) => each.replaceAll("\u00a0", " ").trimEnd());
    let compared = 0;
    fc.assert(
      fc.property(any, (pieces) => {
        const capture = captureOf(timed(pieces));
        const at = open(sessionHtml(capture, ability, { title: "</title><script>alert(1)</script>" }));
        const data = JSON.parse(document.querySelector("#session")!.textContent!) as { frames: [number][] };
        // The session in the page ends with the last change, which may come before the last byte.
        const length = data.frames.at(-1)?.[0];
        if (length === undefined) return;
        for (const share of [1, 0.5, 0.25, 0.75, 0.1, 1]) {
          const t = share * length;
          // Times in the page are whole milliseconds, and changes within a thirtieth of a second are one.
          if (share < 1 && capture.entries.some((each) => Math.abs(each.t - t) < 0.04)) continue;
          expect(at(share)).toEqual(linesAt(capture, share === 1 ? Number.POSITIVE_INFINITY : t));
          compared++;
        }
      }),
      { seed: 6, numRuns: 60 },
    );
    expect(compared).toBeGreaterThan(200);
  });

  it("is one file: it names no other, and its text cannot end its scripts", () => {
    const html = sessionHtml(captureOf([[1, "</script><script>alert(1)</script><img src=x>"]]), ability, {
      title: "t",
    });
    const page = new DOMParser().parseFromString(html, "text/html");
    expect(page.querySelectorAll("script")).toHaveLength(2);
    expect(page.querySelectorAll("[src],[href]")).toHaveLength(0);
    expect(page.querySelector("pre")!.textContent!.replaceAll("\n", "")).toContain("<img src=x>");
  });
});
