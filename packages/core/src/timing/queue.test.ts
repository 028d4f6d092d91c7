import fc from "fast-check";
import { expect, it } from "vitest";
import { EventQueue } from "./queue.ts";

it("an event queue gives events by time, and those of one time in the order they were put in", () => {
  fc.assert(
    fc.property(fc.array(fc.integer({ min: 0, max: 50 }), { maxLength: 400 }), (times) => {
      const queue = new EventQueue();
      for (const [event, time] of times.entries()) queue.put(time, event);
      const taken: number[] = [];
      for (let event = queue.take(); event >= 0; event = queue.take()) {
        taken.push(event);
        expect(queue.now).toBe(times[event]);
      }
      const sorted = times.map((time, event) => ({ time, event })).sort((a, b) => a.time - b.time || a.event - b.event);
      expect(taken).toEqual(sorted.map((each) => each.event));
    }),
    { seed: 20_261_125, numRuns: 200 },
  );
});
