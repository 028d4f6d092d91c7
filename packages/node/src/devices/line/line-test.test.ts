import { readFrame } from "@rouse/core/line";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { betaShare, errorRate } from "./interval.ts";
import { lineVerdict, ratesUpTo, testControls, testLine } from "./line-test.ts";
import { compareSequence, PERIOD, sequence } from "./sequence.ts";
import { DoublePort } from "./testkit/double.ts";
import { seeded } from "./testkit/faulty.ts";

const FRAME = readFrame("8N1");
const now = () => performance.now();
const bitsOf = (bytes: Uint8Array, data: number) =>
  [...bytes].flatMap((byte) => Array.from({ length: data }, (_, bit) => (byte >> bit) & 1));

describe("the pseudo-random sequence", () => {
  it("repeats after 2^15 − 1 bits, with 15 zeros as its longest run (ITU-T O.150)", () => {
    const bits = bitsOf(sequence(Math.ceil(PERIOD / 4), 8), 8);
    expect(bits.slice(PERIOD, 2 * PERIOD).join("")).toBe(bits.slice(0, PERIOD).join(""));
    const one = bits.slice(0, PERIOD);
    // A register of 15 stages goes through all states but one: 2^14 of one kind, 2^14 − 1 of the other.
    expect(one.filter((bit) => bit === 0)).toHaveLength(2 ** 14);
    const runs = bits.join("").match(/0+|1+/g)!;
    expect(Math.max(...runs.filter((run) => run[0] === "0").map((run) => run.length))).toBe(15);
    expect(Math.max(...runs.filter((run) => run[0] === "1").map((run) => run.length))).toBe(14);
  });

  it("obeys its recurrence: each bit is the inverted sum of those 14 and 15 before it", () => {
    const bits = bitsOf(sequence(2000, 8), 8);
    for (let at = 15; at < bits.length; at++) expect(bits[at]).toBe(bits[at - 14]! ^ bits[at - 15]! ^ 1);
  });

  it.each([5, 6, 7, 8])("is recognised whole in characters of %i bits", (data) => {
    const errors = compareSequence(sequence(20_000, data), data);
    expect(errors).toMatchObject({
      characters: 20_000,
      bits: 20_000 * data,
      wrongBits: 0,
      lost: 0,
      extra: 0,
      unplaced: 0,
    });
  });

  it("counts flipped bits exactly where they are far apart", () => {
    fc.assert(
      fc.property(fc.uniqueArray(fc.nat(90), { maxLength: 20 }), fc.constantFrom(5, 7, 8), (places, data) => {
        const bytes = sequence(2000, data);
        for (const place of places) bytes[place * 20 + 10]! ^= 1 << (place % data);
        expect(compareSequence(bytes, data)).toMatchObject({
          wrongBits: places.length,
          wrongCharacters: places.length,
          lost: 0,
          extra: 0,
        });
      }),
      { seed: 1 },
    );
  });

  it("tells lost and doubled characters from wrong bits", () => {
    const bytes = [...sequence(3000, 8)];
    bytes.splice(2000, 0, bytes[2000]!, bytes[2000]!);
    bytes.splice(500, 37);
    expect(compareSequence(Uint8Array.from(bytes), 8)).toMatchObject({ wrongBits: 0, lost: 37, extra: 2, unplaced: 0 });
  });

  it("takes noise for noise", () => {
    const random = seeded(3);
    const noise = Uint8Array.from({ length: 5000 }, () => Math.floor(random() * 256));
    expect(compareSequence(noise, 8).unplaced).toBeGreaterThan(4800);
  });
});

describe("the interval", () => {
  // Exact binomial limits as statistics tables print them: 0 of 100, 10 of 100, 1 of 20 (95 %).
  it.each([
    [0, 100, 0, 0.0362],
    [10, 100, 0.049, 0.1762],
    [1, 20, 0.0013, 0.2487],
    [100, 100, 0.9638, 1],
  ])("of %i in %i is %f to %f", (wrong, all, low, high) => {
    const found = errorRate(wrong, all);
    expect(found.low).toBeCloseTo(low, 4);
    expect(found.high).toBeCloseTo(high, 4);
  });

  it("agrees with the sum of binomial terms", () => {
    // P(X ≥ k) of n trials at p is the beta share at p of (k, n − k + 1).
    const [n, p] = [12, 0.3];
    let term = (1 - p) ** n;
    let below = 0;
    for (let k = 1; k <= n; k++) {
      below += term;
      expect(betaShare(p, k, n - k + 1)).toBeCloseTo(1 - below, 8);
      term *= ((n - k + 1) / k) * (p / (1 - p));
    }
  });

  it("is close to 3.69 over the number of bits where none was wrong, for any number", () => {
    for (const all of [1e4, 1e6, 1e8]) expect(errorRate(0, all).high * all).toBeCloseTo(3.689, 2);
  });
});

describe("the line test", () => {
  it("says up to which rate a loopback is good", async () => {
    const random = seeded(5);
    let flipped = 0;
    const port = new DoublePort("/dev/loop", {
      wire: (bytes, { rate }) => {
        if (rate < 19_200) return bytes;

        return bytes.map((byte) => {
          if (random() >= 0.01) return byte;
          if (rate === 38_400) flipped++;
          return byte ^ 0x10;
        });
      },
    });
    const results = await testLine(port, { rates: ratesUpTo(38_400).slice(-5), frame: FRAME, seconds: 0.5, now });
    expect(lineVerdict(results, String)).toBe(
      `Line good to ${results.filter((each) => each.verdict === "good").at(-1)!.rate}, errors from 19200.`,
    );
    const bad = results.find((each) => each.rate === 38_400)!;
    expect(bad.verdict).toBe("errors");
    expect(flipped).toBeGreaterThan(5);
    expect(bad).toMatchObject({ wrongBits: flipped, lost: 0, extra: 0, unplaced: 0 });
    // One flipped bit in a hundred characters is one in 800 bits.
    expect(bad.bitErrors.low).toBeLessThan(1 / 800);
    expect(bad.bitErrors.high).toBeGreaterThan(1 / 800);
  });

  it("gives up at the first rate where nothing comes back, and passes over what the port refuses", async () => {
    const port = new DoublePort("/dev/loop", {
      wire: (bytes, { rate }) => (rate > 9600 ? new Uint8Array(0) : bytes),
      refuses: (rate) => rate === 9600,
    });
    const results = await testLine(port, { rates: [4800, 9600, 19_200, 38_400], frame: FRAME, seconds: 0.1, now });
    expect(results.map((each) => each.verdict)).toEqual(["good", "port refuses the rate", "nothing came back"]);
    expect(lineVerdict(results, String)).toBe("Line good to 4800, nothing comes back from 19200.");
  });

  it("finds which control lines a plug joins", async () => {
    const settings = { rate: 9600, frame: FRAME, flow: "none" } as const;
    expect(await testControls(new DoublePort("/dev/loop"), settings)).toEqual({
      follows: { dtr: ["dsr", "dcd"], rts: ["cts"] },
      idle: { cts: false, dsr: false, dcd: false },
    });
    expect(await testControls(new DoublePort("/dev/loop", { noLines: true }), settings)).toBeUndefined();
  });
});
