import { describe, expect, it } from "vitest";
import { type Machine, type Op, placesOf, simulate } from "./index.ts";

/** A disk of `sectors` evenly spread sectors, of which each takes `share` of its place. */
function machine(sectors: number, wishes: Partial<Machine> = {}, interleave = 1, share = 0.75): Machine {
  const turn = wishes.turn ?? 200_000;
  const pitch = turn / sectors;
  const times = {
    starts: Float64Array.from({ length: sectors }, (_, place) => place * pitch),
    sectors: placesOf(sectors, interleave),
    length: pitch * share,
  };
  const still = { step: 0, settle: 0, headLoad: 0, motorStart: 0, buffers: 0, command: 0, byte: 0, handling: 0 };
  return { turn, phase: 0, ...still, character: 0, track: () => times, ...wishes };
}

const track = (sectors: number): Op[] =>
  Array.from({ length: sectors }, (_, sector) => ({ kind: "read", track: 0, side: 0, sector, bytes: 256, part: 0 }));

describe("the event simulation in closed-form cases", () => {
  it("waits half a turn on average", () => {
    const read: Op[] = [{ kind: "read", track: 0, side: 0, sector: 3, bytes: 256, part: 0 }];
    const one = machine(10);
    let sum = 0;
    const starts = 1000;
    for (let k = 0; k < starts; k++)
      sum += simulate({ ...one, phase: ((k + 0.5) / starts) * one.turn }, read).time - one.track(0, 0).length;
    expect(sum / starts).toBeCloseTo(100_000, 3);
  });

  it.each([1, 2, 3, 4, 5])(
    "reads a track in %i turns at that interleave, when the handling just fits",
    (interleave) => {
      // Between the end of a sector and the start of the next wanted: (interleave − 3/4) places.
      const sectors = 11;
      const handling = (interleave - 0.75) * (200_000 / sectors);
      const { time } = simulate(machine(sectors, { handling }, interleave), track(sectors));
      const turns = Math.ceil(time / 200_000 - 1e-9 - handling / 200_000);
      expect(turns).toBe(interleave);
    },
  );

  it("loses one turn a sector when the handling is a microsecond too long", () => {
    const sectors = 10;
    const pitch = 20_000;
    const fits = simulate(machine(sectors, { handling: pitch / 4 }), track(sectors)).time;
    const late = simulate(machine(sectors, { handling: pitch / 4 + 1 }), track(sectors)).time;
    expect(fits).toBeCloseTo(200_000, 6);
    // Nine sectors after the first, each a whole turn and a place after the one before.
    expect(late).toBeCloseTo(9 * (200_000 + pitch) + pitch + 1, 6);
    expect(late - fits).toBeCloseTo(9 * 200_000 + 1, 6);
  });

  it("costs one turn to miss one sector", () => {
    const two = track(10).slice(0, 2);
    const work: Op[] = [two[0]!, { kind: "work", time: 5000, part: 0 }, two[1]!];
    const late: Op[] = [two[0]!, { kind: "work", time: 5001, part: 0 }, two[1]!];
    expect(simulate(machine(10), late).time - simulate(machine(10), work).time).toBeCloseTo(200_000, 6);
  });

  it("takes steps, settling, head and motor as they overlap: the longest counts", () => {
    const far: Op[] = [{ kind: "read", track: 20, side: 0, sector: 0, bytes: 256, part: 0 }];
    const ready = (wishes: Partial<Machine>) => {
      const { spans } = simulate(machine(10, { step: 3000, settle: 15_000, ...wishes }), far, true);
      return spans.find((each) => each.lane === "disk" && each.name === "wait")!.start;
    };
    expect(ready({})).toBe(75_000);
    expect(ready({ headLoad: 35_000 })).toBe(75_000);
    expect(ready({ motorStart: 500_000 + 1 })).toBe(500_001);
  });

  it("formats a disk in a turn a track and the wait for the index after each step", () => {
    const ops: Op[] = Array.from({ length: 4 }, (_, at) => ({ kind: "format", track: at, side: 0, part: 0 }));
    // A step and its settling after each track but the last cost a whole turn more.
    expect(simulate(machine(9, { step: 6000, settle: 15_000 }), ops).time).toBe((4 + 3) * 200_000);
    const sides: Op[] = [0, 1].map((side) => ({ kind: "format", track: 0, side: side as 0 | 1, part: 0 }));
    expect(simulate(machine(9), sides).time).toBe(2 * 200_000);
  });

  it("lets a second buffer read on while the bus moves, so that the slower of the two sets the pace", () => {
    const sectors = 10;
    const byte = 100;
    const one = simulate(machine(sectors, { buffers: 1, byte }), track(sectors)).time;
    const two = simulate(machine(sectors, { buffers: 2, byte }), track(sectors)).time;
    expect(two).toBeLessThan(one);
    // 25.6 ms a sector on the bus, 20 ms a place on the disk: the bus is never idle once it has begun.
    expect(simulate(machine(sectors, { buffers: 10, byte }), track(sectors)).time).toBeCloseTo(15_000 + 10 * 25_600, 6);
  });

  it("sends characters at the rate of the line, and after all that came before", () => {
    const ops: Op[] = [...track(1), { kind: "line", characters: 480, part: 1 }];
    const { time, parts } = simulate(machine(10, { character: 1e6 / 240 }), ops);
    expect(time).toBeCloseTo(15_000 + 2_000_000, 3);
    expect(parts[1]!.end - parts[1]!.start).toBeCloseTo(2_000_000, 3);
  });

  it("keeps the spans of each lane but head and arm apart, and within the whole", () => {
    const { spans, time } = simulate(machine(10, { buffers: 2, byte: 20, handling: 700, step: 3000 }), track(10), true);
    for (const lane of ["disk", "bus", "CPU"] as const) {
      const own = spans.filter((each) => each.lane === lane).sort((a, b) => a.start - b.start);
      expect(own.length).toBeGreaterThan(9);
      own.reduce((end, each) => {
        expect(each.start).toBeGreaterThanOrEqual(end - 1e-6);
        return each.start + each.length;
      }, 0);
      expect(own.at(-1)!.start + own.at(-1)!.length).toBeLessThanOrEqual(time + 1e-6);
    }
  });
});

describe("places along a track", () => {
  it("put each sector an interleave after the one before, or on the next free place", () => {
    expect([...placesOf(8, 1)]).toEqual([0, 1, 2, 3, 4, 5, 6, 7]);
    expect([...placesOf(9, 2)]).toEqual([0, 5, 1, 6, 2, 7, 3, 8, 4]);
    expect([...placesOf(8, 2)]).toEqual([0, 4, 1, 5, 2, 6, 3, 7]);
    expect([...placesOf(4, 1, 3)]).toEqual([1, 2, 3, 0]);
  });
});
