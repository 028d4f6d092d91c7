import { describe, expect, it } from "vitest";
import { asTyped, forLine, forScreen } from "./codes.ts";
import { hexRows } from "./hex-view.tsx";
import { paceAsked } from "./pace.ts";
import { LineStream, type Passed } from "./stream.ts";
import { typeQueue } from "./type-queue.ts";
import { progressInWords } from "./work-view.tsx";

/** A frame as the server's `line-history.ts` makes it. */
function frame(kind: number, position: number, text: string, time = 0): Uint8Array {
  const bytes = new Uint8Array(17 + text.length);
  const head = new DataView(bytes.buffer);
  head.setUint8(0, kind);
  head.setFloat64(1, position);
  head.setFloat64(9, time);
  bytes.set(new TextEncoder().encode(text), 17);
  return bytes;
}
const textOf = (all: readonly Passed[]): string => all.map(({ bytes }) => new TextDecoder().decode(bytes)).join("");

describe("what has passed, as the page puts it together", () => {
  it("takes nothing twice after a break, and knows what is past", () => {
    const stream = new LineStream();
    stream.begin("a", 3);
    stream.hear(frame(0, 0, "abc"));
    stream.hear(frame(0, 3, "def"));
    expect(stream.kept.map(({ isPast }) => isPast)).toEqual([true, false]);
    // The connection broke; the server tells again a part that was seen.
    stream.begin("a", 9);
    stream.hear(frame(0, 4, "efghi"));
    expect(textOf(stream.kept)).toBe("abcdefghi");
    expect(stream.kept.at(-1)).toMatchObject({ position: 6, isPast: true });
    expect(stream.seen).toEqual({ run: "a", position: 9 });
    expect(stream.missed).toBe(0);
  });

  it("counts what is missing, and begins anew with another run", () => {
    const stream = new LineStream();
    const told: (Passed | null)[] = [];
    stream.begin("a", 0);
    stream.subscribe((passed) => told.push(passed));
    stream.hear(frame(0, 100, "x"));
    expect(stream.missed).toBe(100);
    stream.begin("b", 0);
    expect([stream.missed, stream.kept.length, told.at(-1)]).toEqual([0, 0, null]);
    stream.hear(frame(9, 0, "no such kind"));
    stream.hear(new Uint8Array(5));
    expect(stream.kept).toEqual([]);
  });

  it("stands in hex in rows that stay as they are while more comes", () => {
    const stream = new LineStream();
    stream.hear(frame(0, 0, "login: ", 1000));
    stream.hear(frame(1, 7, "guest\r", 1500));
    stream.hear(frame(0, 13, "abcdefgh", 1600));
    const rows = hexRows(stream.kept);
    expect(rows.map(({ way, text }) => [way, text])).toEqual([
      ["← in", "login: "],
      ["→ out", "guest."],
      ["← in", "abc"],
      ["← in", "defgh"],
    ]);
    stream.hear(frame(0, 21, "ij", 1700));
    expect(hexRows(stream.kept).slice(0, 3)).toEqual(rows.slice(0, 3));
    expect(hexRows(stream.kept, 2).map(({ text }) => text)).toEqual(["abc", "defghij"]);
  });
});

describe("characters and bytes", () => {
  it("go both ways by the code", () => {
    expect(forScreen(Uint8Array.of(0xc1, 0x0d), "7 bits")).toBe("A\r");
    expect(forScreen(Uint8Array.of(0xe9), "8 bits")).toBe("é");
    expect(forLine("é€", "8 bits")).toEqual({ bytes: "é", lost: "€" });
    expect(forLine("é", "7 bits")).toEqual({ bytes: "", lost: "é" });
    expect(forLine("é", "UTF-8")).toEqual({ bytes: "\u00c3\u00a9", lost: "" });
  });

  it("are typed as the terminal would", () => {
    const habits = { erase: "BS", enter: "CR LF", capitals: true } as const;
    expect(asTyped("dir\r", habits)).toBe("DIR\r\n");
    expect(asTyped("\u007f", habits)).toBe("\b");
    // A cursor key's function keeps its name.
    expect(asTyped("\u001b[1;2a", habits)).toBe("\u001b[1;2a");
  });
});

describe("the pace and the progress", () => {
  it("are told in numbers and words", () => {
    expect(paceAsked({ character: "12,5", line: "", end: "cr", prompt: ">" })).toEqual({
      character: 12.5,
      line: 0,
      end: "cr",
      prompt: ">",
    });
    const transfer = { protocol: "xmodem", file: "a", retries: 0, lastRetry: null, arrived: 0, files: 1, saved: [] };
    expect(progressInWords({ ...transfer, bytes: 512, length: 4096 }, 2000)).toBe(
      "512 of 4,096 bytes, 12 %; 256 bytes a second, about 14 s left",
    );
    expect(progressInWords({ ...transfer, bytes: 1, length: null }, 100)).toBe("1 byte");
  });
});

describe("typing", () => {
  it("keeps the order, one request at a time, and drops what waits behind a failure", async () => {
    const sent: string[] = [];
    const failed: unknown[] = [];
    let go: (() => void)[] = [];
    const type = typeQueue(
      (text) =>
        new Promise<void>((resolve, reject) => {
          sent.push(text);
          go.push(text.includes("!") ? () => reject(new Error("gone")) : resolve);
        }),
      (error) => failed.push(error),
    );
    const answer = async (): Promise<void> => {
      const [first, ...rest] = go;
      go = rest;
      first?.();
      await new Promise((resolve) => setTimeout(resolve, 0));
    };
    for (const key of "abc") type(key);
    expect(sent).toEqual(["a"]);
    await answer();
    expect(sent).toEqual(["a", "bc"]);
    await answer();
    type("!");
    type("lost");
    await answer();
    expect([sent, failed.length]).toEqual([["a", "bc", "!"], 1]);
    type("d");
    expect(sent.at(-1)).toBe("d");
  });
});
