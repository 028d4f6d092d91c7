import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { loadCatalogue } from "../../catalogue/index.ts";
import type { Capture } from "../capture/index.ts";
import { encodeTrack } from "../encode.ts";
import { trackFields } from "../fields.ts";
import { trackForm } from "../form.ts";
import { Random, type ReadFaults, simulateRead } from "../kit/index.ts";
import { identify } from "./identify.ts";
import { imageOfRecoveries } from "./image.ts";
import { type RecoverOptions, recoverTrack } from "./recover.ts";

const { recordings } = loadCatalogue();

/** Compares long contents quickly. */
const same = (one: Uint8Array, other: Uint8Array): boolean =>
  one.length === other.length && one.every((byte, i) => byte === other[i]);

function track(id: string, number: number, side: 0 | 1 = 0) {
  const form = trackForm(recordings.get(id)!, number, side);
  const data = new Random(7).bytes(form.sectors * form.size);
  const cells = encodeTrack(form, data);
  return {
    form,
    data,
    cells,
    fields: trackFields(form),
    read: (faults: ReadFaults): Capture => simulateRead(cells, form.cellSeconds, faults),
    recover: (faults: ReadFaults, options?: RecoverOptions) =>
      recoverTrack(simulateRead(cells, form.cellSeconds, faults), form, options),
  };
}

const bases = (recovery: { sectors: readonly { basis: string }[] }): string[] =>
  recovery.sectors.map(({ basis }) => basis);

/** Moves every transition that falls in the given cells of turn `turn` (or each turn) somewhere else. */
function spoil(
  capture: Capture,
  from: number,
  to: number,
  turnSeconds: number,
  cell: number,
  seed: number,
  only?: number,
): Capture {
  const random = new Random(seed);
  const transitions = capture.transitions.map((time) => {
    const turn = Math.floor(time / turnSeconds);
    const at = (time - turn * turnSeconds) / cell;
    return at >= from && at < to && (only === undefined || turn === only)
      ? time + (random.next() - 0.5) * 3 * cell
      : time;
  });
  return { ...capture, transitions: transitions.sort() };
}

/** One track of each code, density and kind of zone. */
const TRACKS = [
  ["ecma-54", 5, 0],
  ["ecma-69", 0, 0],
  ["ecma-69-8x1024", 60, 1],
  ["ecma-70", 0, 0],
  ["ecma-99-b", 12, 0],
  ["ecma-100", 40, 1],
  ["ecma-125", 79, 0],
  ["five-inch-one-side-35-18x256", 3, 0],
  ["zoned-35", 0, 0],
  ["zoned-35", 34, 0],
  ["zoned-77-two-side", 50, 1],
] as const;

describe("recovery from one turn", () => {
  it.each(TRACKS)("gets all of %s, track %i, side %i at 8 % rms jitter and 3 % off speed", (id, number, side) => {
    const { data, recover } = track(id, number, side);
    for (const speed of [-0.03, 0, 0.03])
      for (const seed of [1, 2]) {
        const recovery = recover({ jitter: 0.08, speed, seed });
        expect(new Set(bases(recovery))).toEqual(new Set(["check"]));
        expect(same(recovery.data, data)).toBe(true);
      }
  });

  it("gets all of an extra-high density track under the same conditions", () => {
    const { data, recover } = track("ecma-147", 79);
    expect(same(recover({ jitter: 0.08, speed: 0.03 }).data, data)).toBe(true);
  });

  it("follows a speed that swings 4 % to either side within the turn", () => {
    for (const [id, number] of [
      ["ecma-54", 5],
      ["ecma-100", 40],
      ["zoned-35", 34],
    ] as const) {
      const { data, recover } = track(id, number);
      const { data: found, speed } = recover({ jitter: 0.05, drift: 0.04 });
      expect(same(found, data)).toBe(true);
      expect(speed.most).toBeGreaterThan(0.035);
      expect(speed.least).toBeLessThan(-0.035);
      expect(speed.mean).toBeCloseTo(0, 2);
    }
  });

  it("reads where intervals against a fixed window read nothing", () => {
    const { recover } = track("ecma-100", 40);
    const faults = { jitter: 0.08, speed: 0.06 };
    expect(bases(recover(faults))).toEqual(Array(9).fill("check"));
    expect(bases(recover(faults, { decoder: "fixed window" })).filter((basis) => basis === "check")).toEqual([]);
    expect(bases(recover({ jitter: 0.04 }, { decoder: "fixed window" }))).toEqual(Array(9).fill("check"));
  });

  it("measures cell, jitter and margin", () => {
    const { form, recover } = track("ecma-100", 40);
    const { cellSeconds, margin, intervals, speed } = recover({ jitter: 0.06, speed: -0.02 });
    expect(cellSeconds / form.cellSeconds).toBeCloseTo(1 / 0.98, 2);
    expect(speed.mean).toBeCloseTo(-0.02, 3);
    // What the loop adds to the jitter is small.
    expect(margin.rms).toBeGreaterThan(0.055);
    expect(margin.rms).toBeLessThan(0.068);
    expect(margin.margin).toBeCloseTo(0.5 - 3.29 * margin.rms, 1);
    // Peaks at two, three and four cells; the bin is a sixteenth of a cell.
    const near = (cells: number) =>
      intervals.counts.slice(Math.round(cells * 16.3) - 4, Math.round(cells * 16.3) + 5).reduce((a, b) => a + b, 0);
    expect(near(2) + near(3) + near(4)).toBeGreaterThan(0.95 * intervals.counts.reduce((a, b) => a + b, 0));
    expect(near(2.5)).toBeLessThan(near(2) / 10);
  });
});

describe("recovery from several turns", () => {
  it("names in how many turns the check agrees", () => {
    const { recover } = track("ecma-100", 40);
    const { sectors, turns } = recover({ turns: 3, jitter: 0.04 });
    expect(turns).toMatchObject({ by: "index" });
    for (const sector of sectors)
      expect(sector).toMatchObject({ turnsRead: 3, turnsGood: 3, turnsAgreeing: 3, idBasis: "check", confidence: 1 });
    expect(sectors[0]!.rests).toBe("the check agrees in 3 of 3 turns");
  });

  it("tells turns apart without an index by the sectors that come round again", () => {
    const { data, form, recover } = track("zoned-35", 20);
    const recovery = recover({ turns: 4, jitter: 0.05, speed: 0.02, index: false });
    expect(recovery.turns.by).toBe("repeated sectors");
    // The track is a whole number of bytes long, a little less than a nominal turn.
    expect(recovery.turns.seconds).toBeCloseTo((form.cells * form.cellSeconds) / 1.02, 5);
    expect(same(recovery.data, data)).toBe(true);
    expect(recovery.sectors.every(({ turnsRead }) => turnsRead === 4)).toBe(true);
  });

  it("takes a capture that begins and ends in the middle of a sector", () => {
    const { data, form, read } = track("ecma-100", 40);
    const whole = read({ turns: 3, jitter: 0.05, index: false });
    const transitions = whole.transitions.filter((time) => time > 0.03 && time < 0.03 + 1.2 * form.turnSeconds);
    expect(same(recoverTrack({ ...whole, transitions }, form).data, data)).toBe(true);
  });

  it("votes where no turn passes its check, and says so", () => {
    const { data, recover } = track("ecma-100", 40);
    const recovery = recover({ turns: 10, jitter: 0.165, seed: 4 });
    const voted = recovery.sectors.filter(({ basis }) => basis === "vote");
    expect(voted.length).toBeGreaterThan(3);
    expect(same(recovery.data, data)).toBe(true);
    expect(voted[0]).toMatchObject({ turnsGood: 0 });
    expect(voted[0]!.rests).toMatch(/^no turn passes the check by itself; a vote over \d+ turns does$/);
  });

  it("leaves bytes in doubt where the turns don't agree, and gives the right ones elsewhere", () => {
    const { cells, data, form, fields, read } = track("ecma-100", 40);
    const field = fields.filter(({ kind }) => kind === "data")[3]!;
    const turn = cells.length * form.cellSeconds;
    const spoilt = spoil(
      read({ turns: 3, jitter: 0.04 }),
      field.start + 1600,
      field.start + 1760,
      turn,
      form.cellSeconds,
      5,
    );
    const { sectors, ...recovery } = recoverTrack(spoilt, form);
    expect(sectors.map(({ basis }) => basis)).toEqual([
      "check",
      "check",
      "check",
      "unproved",
      ...Array(5).fill("check"),
    ]);
    const { weakBytes, confidence, data: bytes, rests } = sectors[3]!;
    expect(rests).toMatch(/no check agrees; a vote over 3 turns leaves \d+ bytes in doubt/);
    expect(confidence).toBeLessThan(0.5);
    // Bytes 100 to 109 were spoilt; the loop needs some more to settle again.
    expect(weakBytes.length).toBeGreaterThan(3);
    expect(weakBytes.every((byte) => byte >= 98 && byte <= 124)).toBe(true);
    const wanted = data.subarray(3 * 512, 4 * 512);
    for (let i = 0; i < 512; i++) if (i < 98 || i > 124) expect(bytes![i]).toBe(wanted[i]);
    expect(same(recovery.data.subarray(0, 3 * 512), data.subarray(0, 3 * 512))).toBe(true);
  });

  it("doesn't trust a checksum of 8 bits against the other turns", () => {
    const { data, form, recover } = track("zoned-35", 0);
    let doubted = 0;
    for (const seed of [1, 2]) {
      const { sectors } = recover({ turns: 10, jitter: 0.16, seed });
      sectors.forEach(({ basis, data: bytes, rests }, k) => {
        const right = same(bytes!, data.subarray(k * form.size, (k + 1) * form.size));
        if (basis === "check" || basis === "vote") expect(right).toBe(true);
        if (/contradicts it$/.test(rests)) doubted++;
      });
    }
    expect(doubted).toBeGreaterThan(0);
  });

  it("says where good checks don't agree on the bytes, and takes the more frequent", () => {
    const one = track("ecma-100", 40);
    const changed = one.data.slice();
    changed[5] = changed[5]! ^ 0xff;
    const other = simulateRead(encodeTrack(one.form, changed), one.form.cellSeconds, { jitter: 0.03 });
    const two = one.read({ turns: 2, jitter: 0.03 });
    const turn = one.cells.length * one.form.cellSeconds;
    const capture: Capture = {
      transitions: Float64Array.from([...two.transitions, ...other.transitions.map((time) => time + 2 * turn)]),
      index: Float64Array.from([0, turn, 2 * turn, 3 * turn]),
      notes: [],
    };
    const { sectors, data } = recoverTrack(capture, one.form);
    expect(sectors[0]).toMatchObject({ basis: "check", turnsGood: 3, turnsAgreeing: 2 });
    expect(sectors[0]!.rests).toBe("the check agrees in 3 turns but not on the same bytes; 2 give these");
    expect(same(data, one.data)).toBe(true);
  });
});

describe("sectors whose ID is damaged", () => {
  const { cells, data, form, fields, read } = track("ecma-100", 40);
  const turn = cells.length * form.cellSeconds;
  const id = (sector: number) => fields.find((each) => each.kind === "ID" && each.sector === sector)!;
  const without = (capture: Capture, sector: number, seed: number, only?: number) =>
    spoil(capture, id(sector).start, id(sector).start + id(sector).length, turn, form.cellSeconds, seed, only);

  it("are named by their place where another turn has the ID", () => {
    let capture = without(read({ turns: 2, jitter: 0.03 }), 4, 6, 0);
    const field = fields.find((each) => each.kind === "data" && each.sector === 4)!;
    // The turn with the good ID has no good data.
    capture = spoil(capture, field.start, field.start + 800, turn, form.cellSeconds, 7, 1);
    const recovery = recoverTrack(capture, form);
    expect(recovery.sectors[3]).toMatchObject({ basis: "check", turnsRead: 2, turnsGood: 1 });
    expect(same(recovery.data, data)).toBe(true);
  });

  it("are named as the last one left where one is missing", () => {
    const recovery = recoverTrack(without(read({ turns: 1, jitter: 0.03 }), 7, 8), form);
    expect(recovery.sectors[6]).toMatchObject({ basis: "check", idBasis: "last one left" });
    expect(same(recovery.data, data)).toBe(true);
  });

  it("stay unnamed where two are missing", () => {
    const recovery = recoverTrack(without(without(read({ jitter: 0.03 }), 7, 8), 2, 9), form);
    expect(recovery.sectors.filter(({ basis }) => basis === "nothing").map(({ sector }) => sector)).toEqual([2, 7]);
    expect(recovery.sectors[1]!.rests).toBe("no ID was found");
    expect(recovery.unnamed).toHaveLength(2);
    expect(recovery.unnamed.every(({ good, turnsRead }) => good && turnsRead === 1)).toBe(true);
  });
});

describe("any transition times", () => {
  const forms = (["ecma-54", "ecma-100", "zoned-35"] as const).map((each) => trackForm(recordings.get(each)!, 1, 0));

  it("are taken without a word, with work in proportion to their number", () => {
    const time = fc.oneof(
      fc.double({ min: 0, max: 1e-3, noNaN: true }),
      fc.double({ min: 0, max: 1e12, noNaN: true }),
      fc.constant(0),
    );
    fc.assert(
      fc.property(fc.array(time, { maxLength: 60 }), fc.array(time, { maxLength: 5 }), (times, index) => {
        const capture = {
          transitions: Float64Array.from(times).sort(),
          index: Float64Array.from(index).sort(),
          notes: [],
        };
        for (const form of forms) {
          const recovery = recoverTrack(capture, form);
          expect(recovery.sectors).toHaveLength(form.sectors);
          expect(recovery.read.cells.length).toBeLessThanOrEqual(64 * times.length + 1);
          expect(bases(recovery)).toEqual(Array(form.sectors).fill("nothing"));
        }
      }),
      { seed: 31, numRuns: 150 },
    );
  });

  it("of pure noise give no sector", () => {
    const random = new Random(77);
    const times = Float64Array.from({ length: 60_000 }, () => random.next() * 0.4).sort();
    for (const form of forms)
      expect(
        recoverTrack({ transitions: times, index: new Float64Array(0), notes: [] }, form).sectors.every(
          ({ basis }) => basis === "nothing" || basis === "unproved",
        ),
      ).toBe(true);
  });
});

describe("identify", () => {
  const all = [...recordings.values()];

  it.each([
    ["ecma-54", 5, 0],
    ["ecma-69", 0, 0],
    ["ecma-69", 3, 1],
    ["ecma-66", 9, 0],
    ["ecma-125", 20, 0],
    ["ecma-147", 20, 0],
    ["five-inch-one-side-35-10x256", 20, 0],
    ["zoned-35", 3, 0],
    ["zoned-35", 33, 0],
    ["zoned-77-two-side", 60, 1],
  ] as const)("finds %s on its track %i, side %i, 4 % off speed", (id, number, side) => {
    const { form, read } = track(id, number, side);
    const candidates = identify(read({ jitter: 0.05, speed: -0.04 }), all);
    const best = candidates.filter(({ score }) => score === candidates[0]!.score);
    const mine = best.find(({ recording }) => recording.id === id)!;
    expect(mine.score).toBe(1);
    expect(mine.form).toMatchObject({ track: number, side, sectors: form.sectors });
    expect(mine.speed).toBeCloseTo(-0.04, 2);
    // Equals lay this track out alike.
    for (const each of best)
      expect([each.form.code, each.form.sectors, each.form.size, each.form.trackNumber]).toEqual([
        form.code,
        form.sectors,
        form.size,
        form.trackNumber,
      ]);
  });

  it("finds a 300 rpm disk that was read in a drive of 360", () => {
    const { data, form, read } = track("five-inch-two-side-9x512", 12, 1);
    const capture = read({ jitter: 0.04, speed: 0.2 });
    const best = identify(capture, all)[0]!;
    expect(best).toMatchObject({ stretch: 300 / 360, score: 1 });
    expect(same(recoverTrack(capture, form, { stretch: best.stretch }).data, data)).toBe(true);
  });

  it("goes by the intervals alone, with a score of 0, where no sector is whole", () => {
    const { form, cells, read } = track("ecma-100", 40);
    const capture = read({ jitter: 0.05 });
    const blank = { ...capture, transitions: capture.transitions.filter((time) => time < 100 * form.cellSeconds * 4) };
    expect(cells.length).toBeGreaterThan(400);
    const candidates = identify(blank, all);
    expect(candidates.length).toBeGreaterThan(0);
    expect(candidates.every(({ score }) => score === 0)).toBe(true);
    expect(candidates[0]!.why).toBe("only the intervals fit: no sector was found whole");
  });

  it("gives nothing for nothing", () => {
    expect(identify({ transitions: new Float64Array(0), index: new Float64Array(0), notes: [] }, all)).toEqual([]);
  });
});

describe("imageOfRecoveries", () => {
  it("makes an image of the tracks there are, and lists what rests on no check", () => {
    const recording = recordings.get("ecma-66")!;
    const recoveries = [0, 2].map((number) => track("ecma-66", number).recover({ jitter: 0.04 }));
    const { image, bad } = imageOfRecoveries(recording, recoveries);
    const { data } = track("ecma-66", 2);
    expect(image).toHaveLength(71_680);
    expect(same(image.subarray(2 * 2048, 3 * 2048), data)).toBe(true);
    expect(bad).toHaveLength(33 * 16);
    expect(bad[0]).toMatchObject({ block: 16, fault: "no ID" });
  });
});
