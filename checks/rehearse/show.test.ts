import { readFileSync } from "node:fs";
import { captureHead, captureLine, followScript, planShow, readCapture } from "@rouse/core/show";
import { PHASES, rehearseShow, waitsOf } from "@rouse/core/show/rehearsed";
import { readScript } from "@rouse/core/show/script";
import { describe, expect, it } from "vitest";
import { demoBench, rehearse, surveyed } from "./demo-bench.ts";

/** The demo's script on the demo's machine. */

const script = readScript(readFileSync(new URL("../../demo/mended/show.yaml", import.meta.url), "utf8"));
const HEAD = { started: "2026-06-06T13:00:00.000Z", port: "rehearsal", rate: 2400, frame: "7E1" };

describe("the demo's show, rehearsed", () => {
  const bench = demoBench("mended");
  const shows = PHASES.map((phase) =>
    rehearseShow(script, rehearse("mended", bench, { phase, typing: script.typing }), HEAD),
  );
  const waits = waitsOf(shows);

  it("comes to everything that the script expects, and types all of it at the script's speed", () => {
    for (const { scenes } of shows)
      for (const { scene, seen, typed } of scenes) {
        expect(seen !== undefined, scene.name).toBe(scene.expect !== undefined);
        expect(typed !== undefined, scene.name).toBe(scene.type !== undefined);
      }
    const keys = shows[0]!.capture.entries.flatMap((each) => ("out" in each ? [each.t] : []));
    expect(keys).toHaveLength("visitor\rlist\rtext poem\r".length);
    expect(keys[1]! - keys[0]!).toBeCloseTo(1 / script.typing, 6);
  });

  it("plans with those waits, the model's beside them; the boot of both agrees within 5 %", () => {
    const image = surveyed("mended", bench);
    const [model, plan] = [planShow(script, bench, image), planShow(script, bench, image, waits)];
    const start = script.scenes.findIndex(({ expect: text }) => text === "login: ");
    expect(plan.scenes[start]!.wait).toEqual(waits[start]);
    expect(plan.scenes[start]!.modelled).toEqual(model.scenes[start]!.wait);
    expect(waits[start]!.low).toBeLessThan(waits[start]!.high);
    expect(Math.abs(waits[start]!.usual / model.scenes[start]!.wait.usual - 1)).toBeLessThan(0.05);
    expect(plan.scenes.at(-1)).not.toHaveProperty("modelled");
  });

  it("is a session like any other: written, read and followed again it is the same", () => {
    const [{ capture, scenes }] = shows as [(typeof shows)[0], ...unknown[]];
    const text = captureHead(capture.head) + capture.entries.map(captureLine).join("");
    const read = readCapture(new TextEncoder().encode(text));
    expect(read.bad).toEqual([]);
    expect(followScript(script, read).map(({ wait }) => wait?.toFixed(3))).toEqual(
      scenes.map(({ wait }) => wait?.toFixed(3)),
    );
  });

  it("stops where what is expected never comes, and then measures nothing", () => {
    const dark = demoBench("mended", [["terminal cable: { kind: null modem", "terminal cable: { kind: straight"]]);
    const show = rehearseShow(script, rehearse("mended", dark, { typing: script.typing }), HEAD);
    expect(waitsOf([show])).toEqual(script.scenes.map(() => undefined));
    expect(show.capture.entries).toEqual([]);
  });
});
