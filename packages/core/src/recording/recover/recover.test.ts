import { describe, expect, it } from "vitest";
import { loadCatalogue } from "../../catalogue/index.ts";
import { encodeTrack } from "../encode.ts";
import { trackForm } from "../form.ts";
import { Random, simulateRead } from "../kit/index.ts";
import { recoverTrack } from "./recover.ts";

const { recordings } = loadCatalogue();

describe("recovery from one turn", () => {
  it.each([
    ["ecma-54", 5, 0],
    ["ecma-70", 0, 0],
    ["ecma-100", 40, 1],
    ["ecma-125", 79, 0],
    ["ecma-147", 79, 0],
    ["zoned-35", 0, 0],
    ["zoned-35", 34, 0],
    ["zoned-77-two-side", 50, 1],
  ] as const)("gets all of %s, track %i, side %i at 8 % rms jitter and 3 % off speed", (id, track, side) => {
    const form = trackForm(recordings.get(id)!, track, side);
    const data = new Random(7).bytes(form.sectors * form.size);
    const cells = encodeTrack(form, data);
    for (const speed of [-0.03, 0, 0.03])
      for (let seed = 1; seed <= 3; seed++) {
        const recovery = recoverTrack(simulateRead(cells, form.cellSeconds, { jitter: 0.08, speed, seed }), form);
        expect(recovery.sectors.map(({ basis }) => basis)).toEqual(Array(form.sectors).fill("check"));
        expect(recovery.data).toEqual(data);
      }
  });
});
