import { type Frame, readByUart, readFrame, type Waveform } from "@rouse/core/line";
import { describe, expect, it } from "vitest";
import { bestHeard, hearLine } from "./listen.ts";
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
