import { inferLine, readByUart, readFrame, runsOfReading, waveformOfSamples, waveformOfSignal } from "@rouse/core/line";
import { readSignals } from "@rouse/core/recording";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { tryOne } from "./settings.ts";
import { chance, someText, waveformOf } from "./simulate.ts";

const clean = { inverted: false, wrongBits: 0, jitter: 0, pauses: 0 };
const codes = (text: string) => [...text].map((each) => each.charCodeAt(0));
const TEXT = "Tern 1.2 ready\r\nlogin: guest\r\n";

describe("inference", () => {
  // The full run of 10,000 settings and the curve against the number of characters: checks/line/soak.ts.
  it("finds rate, frame and polarity of 500 random lines, 40 characters each, 3 % clock error, 2 % wrong bits", () => {
    let right = 0;
    for (let seed = 1; seed <= 500; seed++) {
      const found = tryOne(seed, 40);
      if (!found.right) continue;
      right++;
      // To 1 % of the rate as it really was.
      expect(Math.abs(found.rateError), `seed ${seed}`).toBeLessThan(0.01);
    }
    expect(right).toBeGreaterThanOrEqual(499);
  }, 240_000);

  it("is less sure of few characters than of many", () => {
    const sure = (count: number) => {
      const all = Array.from({ length: 30 }, (_, seed) => tryOne(seed + 1, count).answers[0]!.probability);
      return all.reduce((sum, each) => sum + each, 0) / all.length;
    };
    expect(sure(2)).toBeLessThan(sure(8));
    expect(sure(8)).toBeLessThan(sure(40));
  });

  it("gives the text as it was sent where no bit is wrong, and its probabilities add up to 1", () => {
    const wave = waveformOf({ ...clean, codes: codes(TEXT), frame: readFrame("7E1"), rate: 2400 }, chance(1));
    const answers = inferLine(wave);
    expect(answers[0]).toMatchObject({ standardRate: 2400, frame: "7E1", inverted: false, text: TEXT });
    expect(answers.reduce((sum, each) => sum + each.probability, 0)).toBeCloseTo(1, 9);
    expect(answers[0]!.characters.every((each) => each.parity && each.framing)).toBe(true);
  });

  it("measures a rate that is no standard rate to 1 %", () => {
    const wave = waveformOf({ ...clean, codes: codes(TEXT), frame: readFrame("8N1"), rate: 31_250 }, chance(2));
    const [first] = inferLine(wave);
    expect(first!.standardRate).toBeUndefined();
    expect(Math.abs(first!.rate / 31_250 - 1)).toBeLessThan(0.01);
  });

  it("reads samples, value change dumps and tables alike", () => {
    const wave = waveformOf({ ...clean, codes: codes(TEXT), frame: readFrame("8N1"), rate: 1200 }, chance(3));
    const levelAt = (time: number) =>
      wave.edges.filter((each) => each <= time).length % 2 === 0 ? wave.initial : 1 - wave.initial;
    const samples = Array.from({ length: Math.ceil(wave.end * 24_000) }, (_, index) => levelAt(index / 24_000));
    const bytes = (text: string) => new TextEncoder().encode(text);
    // IEEE 1364, clause 18: header words, then times and changes.
    const dump = [
      "$timescale 1 us $end $scope module line $end $var wire 1 ! txd $end $upscope $end $enddefinitions $end",
      `#0 $dumpvars ${wave.initial}! $end`,
      ...wave.edges.map(
        (each, index) => `#${Math.round(each * 1e6)} ${index % 2 === 0 ? 1 - wave.initial : wave.initial}!`,
      ),
    ].join("\n");
    const table = `seconds,level\n0,${wave.initial}\n${wave.edges.map((each, index) => `${each.toFixed(7)},${index % 2 === 0 ? 1 - wave.initial : wave.initial}`).join("\n")}\n`;
    for (const each of [
      waveformOfSamples(samples, 24_000),
      waveformOfSignal(readSignals(bytes(dump))[0]!),
      waveformOfSignal(readSignals(bytes(table))[0]!),
    ])
      expect(inferLine(each)[0]).toMatchObject({ standardRate: 1200, frame: "8N1", inverted: false, text: TEXT });
  });

  it("refuses a line that says nothing, and answers any other", () => {
    expect(() => inferLine({ start: 0, end: 1, initial: 1, edges: [] })).toThrow("hardly changes");
    fc.assert(
      fc.property(fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { maxLength: 80 }), (times) => {
        const edges = [...times].sort((a, b) => a - b);
        try {
          for (const each of inferLine({ start: 0, end: 1, initial: 1, edges })) {
            expect(each.probability).toBeGreaterThanOrEqual(0);
            expect(Number.isFinite(each.rate)).toBe(true);
          }
        } catch (error) {
          expect((error as Error).name).toBe("InputError");
        }
      }),
      { seed: 5, numRuns: 60 },
    );
  });
});

describe("a serial part that reads a slower line", () => {
  it("sees one byte a character at the line's own rate", () => {
    const wave = waveformOf({ ...clean, codes: codes(TEXT), frame: readFrame("8N1"), rate: 9600 }, chance(4));
    expect(readByUart(wave, 9600).map((each) => each.value)).toEqual(codes(TEXT));
  });

  it("sees breaks of zeros where a bit is longer than its frame", () => {
    const wave = waveformOf({ ...clean, codes: codes("UUUU"), frame: readFrame("8N1"), rate: 300 }, chance(4));
    expect(readByUart(wave, 9600)).toEqual(Array.from({ length: 20 }, () => ({ value: 0, framing: true })));
  });

  it.each([2, 3, 4])("gives the rate away at %d times the rate of the line", (ratio) => {
    for (let seed = 1; seed <= 12; seed++) {
      const random = chance(seed * 31 + ratio);
      const frame = readFrame(["8N1", "7E1", "7O1", "8E1"][seed % 4]!);
      const rate = 9600 * (1 + (random() * 2 - 1) * 0.01);
      const wave = waveformOf(
        { ...clean, jitter: 0.01, pauses: 0.1, codes: someText(30, random), frame, rate },
        random,
      );
      const bytes = readByUart(wave, 9600 * ratio);
      expect(inferLine(runsOfReading(bytes, 9600 * ratio))[0]!.standardRate, `seed ${seed}`).toBe(9600);
    }
  });

  it("gives data bits and parity away at the line's own rate", () => {
    for (let seed = 1; seed <= 12; seed++) {
      const random = chance(seed * 77);
      const frame = readFrame(["8N1", "7E1", "7O1", "8E1"][seed % 4]!);
      const wave = waveformOf({ ...clean, codes: someText(30, random), frame, rate: 9600 }, random);
      const [first] = inferLine(runsOfReading(readByUart(wave, 9600), 9600));
      expect([first!.standardRate, first!.frame.slice(0, 2), first!.inverted]).toEqual([
        9600,
        frame.text.slice(0, 2),
        false,
      ]);
    }
  });
});
