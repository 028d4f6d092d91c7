import { type Frame, readByUart, readFrame, type Waveform } from "@rouse/core/line";
import { describe, expect, it } from "vitest";
import { bestHeard, hearLine } from "./listen.ts";
import { MarkedBytes } from "./marked.ts";
import type { LineEvents, LineSettings } from "./port.ts";
import { DoublePort } from "./testkit/double.ts";

/** The voltage of a text on a TTL line; the gap between characters is some odd part of a bit. */
function waveform(text: string, rate: number, frame: Frame): Waveform {
  const edges: number[] = [];
  let level = 1;
  let at = 5 / rate;
  const put = (next: number) => {
    if (next !== level) edges.push(at);
    level = next;
    at += 1 / rate;
  };
  for (const character of text) {
    const code = character.charCodeAt(0);
    put(0);
    let ones = 0;
    for (let bit = 0; bit < frame.data; bit++) {
      const value = (code >> bit) & 1;
      ones += value;
      put(value);
    }
    if (frame.parity === "even") put(ones & 1);
    if (frame.parity === "odd") put((ones & 1) ^ 1);
    for (let bit = 0; bit < frame.stop; bit++) put(1);
    at += 0.37 / rate;
  }
  return { start: 0, end: at + 20 / rate, initial: 1, edges };
}

/** A port on that line: what it reads depends on the rate that it is opened with. */
class ListeningPort extends DoublePort {
  readonly #wave: Waveform;
  constructor(wave: Waveform) {
    super("/dev/line");
    this.#wave = wave;
  }
  override async open(settings: LineSettings, events: LineEvents): Promise<void> {
    await super.open(settings, events);
    // As drivers do: characters with a wrong stop bit are dropped.
    const sound = readByUart(this.#wave, settings.rate).filter((each) => each.framing !== true);
    const bytes = Uint8Array.from(sound, (each) => each.value).subarray(0, 240);
    setImmediate(() => events.data(bytes));
  }
}

/** A port whose driver marks what came wrong, as POSIX terminals do; it keeps no more than so many characters of the line. */
class MarkingPort extends DoublePort {
  readonly #wave: Waveform;
  #data: ((bytes: Uint8Array) => void) | undefined;
  #rate = 0;
  readonly opened: number[] = [];
  constructor(wave: Waveform) {
    super("/dev/line");
    this.#wave = wave;
  }
  override async open(settings: LineSettings, events: LineEvents): Promise<void> {
    await super.open(settings, events);
    this.#data = events.data;
    this.#rate = settings.rate;
    this.opened.push(settings.rate);
    events.data(Uint8Array.of(0x55, 0xff));
  }
  markFaults(): Promise<boolean> {
    return Promise.resolve(true);
  }
  override async discard(): Promise<void> {
    await super.discard();
    const bytes = readByUart(this.#wave, this.#rate).flatMap(({ value, framing }) =>
      framing ? [0xff, 0, value] : value === 0xff ? [0xff, 0xff] : [value],
    );
    setImmediate(() => {
      // In pieces that cut marks.
      for (let at = 0; at < bytes.length; at += 7) this.#data?.(Uint8Array.from(bytes.slice(at, at + 7)));
    });
  }
}

const TEXT = "TERN 1.2 READY\r\nLOGIN: THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG 0123456789\r\n".repeat(3);

describe("listening to a line", () => {
  it.each([
    [110, "8N1"],
    [300, "7E1"],
    [1200, "8N1"],
    [2400, "7O1"],
    [9600, "8N1"],
    [19_200, "7E1"],
    [115_200, "8N1"],
  ])("tells %i bit/s and %s", async (rate, frame) => {
    const port = new ListeningPort(waveform(TEXT, rate, readFrame(frame)));
    const best = bestHeard(await hearLine(port, { patience: 60 }));
    expect(best?.rate).toBe(rate);
    expect(best?.answer?.frame).toBe(frame);
    expect(best?.answer?.text).toContain("QUICK BROWN FOX");
  });

  it("has no answer on a line that is silent", async () => {
    const port = new DoublePort("/dev/line");
    expect(bestHeard(await hearLine(port, { patience: 20 }))).toBeUndefined();
  });
});

describe("listening through a driver that marks faults", () => {
  // 2,000 and 3,600 lie between the rates that it reads at; 8 data bits with parity take eleven bits a character.
  const settings = [
    [110, "7E1"],
    [300, "8N1"],
    [2000, "8O1"],
    [2400, "7O1"],
    [3600, "8N1"],
    [9600, "8E1"],
    [19_200, "7E1"],
    [115_200, "8N1"],
  ] as const;
  const text = "Tern 1.2 ready\r\nlogin: guest of the open day\r\n";

  it("rebuilds the waveform: rate, data bits and parity of every setting, in few readings", async () => {
    const wrong: string[] = [];
    let readings = 0;
    for (const [rate, frame] of settings) {
      // Clocks differ: 1 % off.
      const port = new MarkingPort(waveform(text, rate * 1.01, readFrame(frame)));
      const best = bestHeard(await hearLine(port, { patience: 30 }));
      readings += port.opened.length;
      if (best?.rate !== rate || best.answer?.frame.slice(0, 2) !== frame.slice(0, 2))
        wrong.push(`${rate} ${frame}: ${best?.rate} ${best?.answer?.frame}`);
    }
    expect(wrong).toEqual([]);
    expect(readings / settings.length).toBeLessThan(6);
  }, 60_000);

  it("ranks what it may be, and gives the text", async () => {
    const heard = await hearLine(new MarkingPort(waveform(text, 2400, readFrame("7E1"))), { patience: 30 });
    const best = bestHeard(heard);
    expect(best?.answer?.text).toContain("login: guest");
    expect(best?.ranked?.[0]).toMatchObject({ rate: 2400, frame: "7E1", inverted: false });
    expect(best?.ranked?.[0]?.probability).toBeGreaterThan(0.9);
  });

  it("ends at once on a line that is silent", async () => {
    const port = new MarkingPort({ start: 0, end: 1, initial: 1, edges: [] });
    expect(await hearLine(port, { patience: 20 })).toEqual([{ rate: 115_200, bytes: 0, sense: 0 }]);
  });

  it("reads marks in any chunks, and bytes of a driver that does not double FF", () => {
    const marks = new MarkedBytes();
    const all = [0x41, 0xff, 0xff, 0xff, 0, 0x42, 0xff, 0, 0, 0x43, 0xff, 0x44].flatMap((each) =>
      marks.push(Uint8Array.of(each)),
    );
    expect(all.map(({ value, framing }) => (framing ? -value : value))).toEqual([
      0x41, 0xff, -0x42, -0, 0x43, 0xff, 0x44,
    ]);
  });
});
