import { beforeAll, describe, expect, it } from "vitest";
import { type Bench, readBench } from "../bench/index.ts";
import { loadCatalogue } from "../catalogue/index.ts";
import { inspectSystem } from "../system/index.ts";
import { buildFat12, openBest } from "../volume/index.ts";
import { bestInterleave, fitMeasured, readMeasurement, type TimedImage, timedBench, timeJob } from "./index.ts";

const catalogue = loadCatalogue();
let image: TimedImage;

beforeAll(() => {
  const bytes = buildFat12(
    [
      { path: "ONE.DAT", type: "file", bytes: new Uint8Array(9 * 512).fill(1) },
      { path: "BIG.DAT", type: "file", bytes: new Uint8Array(120_000).fill(2) },
    ],
    { format: "360K" },
  );
  const { volume } = openBest(bytes);
  image = { name: "disk", volume, system: inspectSystem(volume) };
});

function bench(drive = "", cpu = "", rest = ""): Bench {
  const read = readBench(
    [
      "rouse: 1",
      "name: x",
      `computer: { cpu: { part: Z80A, clock: 4 MHz${cpu} } }`,
      "buses: { cable: { kind: 34-wire drive bus } }",
      `drives: { left: { class: five-inch-40-track-two-side, bus: cable${drive} } }`,
      "images: { disk: { file: images/disk.img, recording: five-inch-two-side-9x512, drive: left } }",
      rest,
    ].join("\n"),
    catalogue,
  );
  if (!read.bench) throw new Error(read.issues.map((each) => each.sentence).join("; "));
  return read.bench;
}

describe("timing a job of a bench", () => {
  it("names the key of what is missing, and gives the least time", () => {
    const answer = timeJob({ bench: bench(), image }, { what: "verify" });
    expect(answer.known).toBe(false);
    expect(answer.missing).toEqual([{ key: "computer.cpu.handling", label: "handling of a sector by the CPU" }]);
    // 80 tracks of one turn at 300 rpm are the least.
    expect(answer.seconds).toBeGreaterThan(16);
    const more = timeJob({ bench: bench("", ", handling: 20 ms"), image }, { what: "verify" });
    expect(more.known).toBe(true);
    expect(more.seconds).toBeGreaterThan(answer.seconds);
  });

  it("gives every parameter a source: the catalogue's, common practice, or the bench file", () => {
    const { parameters } = timeJob({ bench: bench(", step: 12 ms"), image }, { what: "format" });
    const source = (id: string) => parameters.find((each) => each.id === id)?.source?.kind;
    expect(source("step")).toBe("user");
    expect(source("settle")).toBe("memory");
    expect(source("buffers")).toBe("common practice");
    for (const each of parameters) expect(each.value === undefined || each.source !== undefined).toBe(true);
  });

  it("takes values to try before the bench's own, and says that they are tried", () => {
    const input = { bench: bench("", ", handling: 20 ms"), image };
    const tried = { ...input, tried: new Map([["rotation", 6] as const]) };
    const [own, quick] = [timeJob(input, { what: "format" }), timeJob(tried, { what: "format" })];
    expect(quick.seconds).toBeLessThan(own.seconds);
    expect(quick.parameters.find(({ id }) => id === "rotation")).toMatchObject({ value: 6, source: { kind: "user" } });
    expect(bestInterleave({ ...input, tried: new Map([["interleave", 3] as const]) }).now.interleave).toBe(3);
  });

  it("formats in the time that turns, steps and waits for the index make", () => {
    const { seconds, known, parts } = timeJob({ bench: bench(), image }, { what: "format" });
    expect(known).toBe(true);
    // 80 turns of 0.2 s, one more for each of 39 steps, 0.5 s of motor and half a turn for the first index.
    expect(seconds).toBeGreaterThan(80 * 0.2 + 39 * 0.2 + 0.5);
    expect(seconds).toBeLessThan(80 * 0.2 + 39 * 0.2 + 0.5 + 0.21);
    expect(parts.map((each) => each.name)).toEqual(["format every track"]);
  });

  it("loads a file through its directory, sector by sector, whatever the letter case", () => {
    const input = { bench: bench("", ", handling: 5 ms"), image };
    const small = timeJob(input, { what: "load", name: "one.dat" });
    const big = timeJob(input, { what: "load", name: "BIG" });
    expect(small.totals.find((each) => each.lane === "disk" && each.name === "read")!.times).toBe(10);
    expect(big.seconds).toBeGreaterThan(small.seconds * 5);
    expect(() => timeJob(input, { what: "load", name: "NONE" })).toThrow("no file “NONE”");
    expect(() => timeJob(input, { what: "boot" })).toThrow("was not found");
  });

  it("says which keys are missing where there is no drive", () => {
    const { bench: bare } = readBench("rouse: 1\nname: x\nimages: { disk: { file: images/d } }", catalogue);
    const answer = timeJob({ bench: bare!, image }, { what: "format" });
    expect(answer.missing.map((each) => each.key)).toEqual(["images.disk.drive", "images.disk.recording"]);
  });

  it("takes the image's interleave before the drive's", () => {
    const text =
      "rouse: 1\nname: x\ndrives: { d: { class: five-inch-40-track-two-side, interleave: 3 } }\nimages:\n  a: { file: images/a, drive: d }\n  b: { file: images/b, drive: d, interleave: 5 }";
    const { bench: two } = readBench(text, catalogue);
    const found = (name: string) => timedBench(two!, name).parameters.find((each) => each.id === "interleave");
    expect(found("a")).toMatchObject({ value: 3, key: "drives.d.interleave" });
    expect(found("b")).toMatchObject({ value: 5, key: "images.b.interleave" });
  });
});

describe("the best interleave", () => {
  it("is the least at which the handling fits between two sectors", () => {
    // A place of the 9-sector track is 20.6 ms or so; 30 ms of handling leave out the next two sectors.
    const { interleave, interleaves } = bestInterleave({ bench: bench("", ", handling: 30 ms"), image });
    expect(interleave).toBe(3);
    const turns = interleaves.map((each) => each.turns);
    expect(turns[0]).toBeGreaterThan(9);
    expect(turns[2]).toBeLessThan(4);
    expect(bestInterleave({ bench: bench("", ", handling: 10 us"), image }).interleave).toBe(1);
  });

  it("needs a skew where the step would cost a turn", () => {
    const { skew, skews } = bestInterleave({ bench: bench("", ", handling: 10 us"), image });
    expect(skew).toBeGreaterThan(0);
    expect(skews[skew]!.seconds).toBeLessThan(skews[0]!.seconds);
  });
});

describe("fitting to measurements", () => {
  const reading = (what: string, seconds: number) => readMeasurement(`${what} ${seconds.toFixed(1)} s`);

  it("finds the handling that made the times, and later predictions carry an interval around the truth", () => {
    const truth = { bench: bench("", ", handling: 24 ms"), image };
    const measured = [
      reading("verify", timeJob(truth, { what: "verify" }).seconds),
      reading("load BIG.DAT", timeJob(truth, { what: "load", name: "BIG.DAT" }).seconds),
    ];
    const input = { bench: bench(), image };
    const fitted = fitMeasured(input, measured);
    expect(fitted.values.map((each) => each.key)).toEqual(["computer.cpu.handling"]);
    const [value] = fitted.values;
    expect(value!.low).toBeLessThanOrEqual(0.0245);
    expect(value!.high).toBeGreaterThanOrEqual(0.0235);
    const predicted = timeJob(input, { what: "write" }, fitted);
    const real = timeJob(truth, { what: "write" });
    expect(predicted.known).toBe(true);
    expect(predicted.low).toBeLessThanOrEqual(real.seconds);
    expect(predicted.high).toBeGreaterThanOrEqual(real.seconds);
    expect(predicted.high).toBeGreaterThan(predicted.low);
  });

  it("says when the measurements cannot tell a value", () => {
    // Formatting moves no sector: it says nothing of step and settling, as every step costs a turn anyway.
    const input = { bench: { ...bench(), drives: [] as never[] }, image };
    const drive = { ...bench().drives[0]! };
    delete (drive as { settle?: unknown }).settle;
    const images = input.bench.images.map((each) => ({ ...each, drive }));
    const fitted = fitMeasured({ bench: { ...input.bench, images }, image }, [readMeasurement("format 24.4 s")]);
    expect(fitted.values[0]).toMatchObject({ id: "settle", howWell: "not" });
    expect(fitted.sentence).toContain("cannot tell settling");
  });

  it("says when no value within the bounds meets what was measured", () => {
    expect(fitMeasured({ bench: bench(), image }, [readMeasurement("verify 3 s")]).sentence).toContain("No values");
  });

  it("reads measurements, and refuses others with one sentence", () => {
    expect(readMeasurement("boot 41 s")).toMatchObject({ wish: { what: "boot" }, seconds: 41, spread: 0.5 });
    expect(readMeasurement("load my file 3.5 s ± 0.1 s").wish).toEqual({ what: "load", name: "my file" });
    expect(readMeasurement("load x 3.5 s ± 0.1 s").spread).toBeCloseTo(0.1, 9);
    for (const wrong of ["boot", "41 s", "load 3 s", "boot x 3 s", "boot 3", "boot 0 s", ""])
      expect(() => readMeasurement(wrong), wrong).toThrow();
  });
});
