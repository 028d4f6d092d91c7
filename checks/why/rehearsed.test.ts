import { makeWhyModel } from "@rouse/core/diagnose/why";
import { describe, expect, it } from "vitest";
import { demoBench } from "../rehearse/demo-bench.ts";
import { PLANTED, picture } from "./rehearsed.ts";

/**
 * What the search believes that the screen shows, against a machine that runs: the demo's own ROM, system and line, cycle by
 * cycle, with a fault planted in its bench file, ROM or image.
 */
const model = makeWhyModel(demoBench("mended"));
const screen = model.tests.findIndex(({ id }) => id === "screen");
const { outcomes } = model.tests[screen]!;

/** Chances of what the screen shows, over every cause that takes the function away in that manner, by its prior. */
function believed(node: string, manner: string): Map<string, number> {
  const faults = [...model.faults.keys()].filter(
    (each) => model.faults[each]!.node === node && model.faults[each]!.manner === manner,
  );
  const whole = faults.reduce((sum, each) => sum + model.priors[each]!, 0);
  return new Map(
    outcomes.map(({ id }, column) => [
      id,
      faults.reduce(
        (sum, each) =>
          sum + (model.priors[each]! / whole) * model.likelihoods[screen]![each * outcomes.length + column]!,
        0,
      ),
    ]),
  );
}

describe("a fault planted in the rehearsed machine", () => {
  it.each(PLANTED)("shows what is thought likeliest: $what", (planted) => {
    const chances = believed(planted.node, planted.manner);
    const likeliest = [...chances].sort((a, b) => b[1] - a[1])[0]![0];
    expect(picture(planted)).toBe(likeliest);
  });
});
