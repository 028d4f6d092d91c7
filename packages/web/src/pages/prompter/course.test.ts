import type { PlannedShow } from "@rouse/core/show";
import { describe, expect, it } from "vitest";
import { ATSTART, clockOf, followed, spareAt, stepped } from "./course.ts";

const exactly = (usual: number) => ({ low: usual, usual, high: usual });
const scene = (name: string, start: number, hands: number, wait: number): PlannedShow["scenes"][number] => ({
  scene: { name },
  start,
  length: exactly(hands + wait),
  hands,
  wait: exactly(wait),
  speech: 0,
  silence: 0,
  known: true,
  missing: [],
});
const plan: PlannedShow = {
  title: "t",
  scenes: [scene("on", 0, 20, 0), scene("start", 20, 2, 40), scene("end", 62, 10, 0)],
  length: exactly(72),
  known: true,
  missing: [],
};
const T = 1_000_000;

describe("the course of a show", () => {
  it("begins with the first step, and goes on and back by hand", () => {
    const begun = stepped(ATSTART, 1, 3, T);
    expect(begun).toMatchObject({ scene: 0, begun: T });
    expect(stepped(ATSTART, -1, 3, T)).toBe(ATSTART);
    const on = stepped(begun, 1, 3, T + 25_000);
    expect(on).toMatchObject({ scene: 1, since: T + 25_000 });
    expect(stepped(on, -1, 3, T + 26_000).scene).toBe(0);
    expect(stepped({ ...on, scene: 3 }, 1, 3, T).scene).toBe(3);
  });

  it("goes where the session goes, by the session's own times and the computer's clock", () => {
    const session = { name: "s", started: T, place: { scene: 2, since: 58 } };
    const moved = followed(stepped(ATSTART, 1, 3, T - 30_000), session, 5_000);
    expect(moved).toMatchObject({ scene: 2, begun: T - 30_000, since: T + 5_000 + 58_000 });
    // The hand goes before it until it moves again.
    const back = stepped(moved, -1, 3, T + 70_000);
    expect(followed(back, session, 5_000)).toBe(back);
    expect(followed(back, { ...session, place: { scene: 3, since: 80 } }, 0).scene).toBe(3);
    expect(followed(ATSTART, { ...session, place: { scene: 0, since: 0 } }, 0)).toBe(ATSTART);
    expect(followed(ATSTART, null, 0)).toBe(ATSTART);
  });

  it("is on time until a scene lasts longer than planned, and as late as it began late", () => {
    const at = (scene: number, since: number, now: number) =>
      clockOf(plan, { scene, begun: T, since: T + since * 1000, followed: 0 }, T + now * 1000);
    expect(at(0, 0, 15)).toMatchObject({ elapsed: 15, late: 0, left: 57, wait: null });
    expect(at(0, 0, 26)).toMatchObject({ late: 6, left: 52 });
    expect(at(1, 26, 40)).toMatchObject({ late: 6, left: 38, wait: { over: 12, usual: 40 } });
    expect(at(2, 50, 55)).toMatchObject({ late: -12, left: 5 });
    expect(at(3, 72, 80)).toMatchObject({ late: 0, left: 0, wait: null });
    expect(clockOf(plan, ATSTART, T)).toMatchObject({ elapsed: 0, late: 0, left: 72 });
  });

  it("knows how much is to spare before a time of day, around midnight too", () => {
    const noon = new Date(2026, 5, 6, 12, 0, 0);
    expect(spareAt(12.5 * 3600, 600, noon)).toBe(1200);
    expect(spareAt(12 * 3600, 600, noon)).toBe(-600);
    expect(spareAt(300, 60, new Date(2026, 5, 6, 23, 59, 0))).toBe(300);
  });
});
