/** Plays the script on the rehearsed machine, beside the page, which stays at hand meanwhile. */
import { InputError } from "@rouse/core/errors";
import { PHASES, type RehearsedShow, rehearseShow, waitsOf } from "@rouse/core/show/rehearsed";
import { readScript } from "@rouse/core/show/script";
import { ServerProblem } from "../../job/api.ts";
import { machineOf } from "../rehearse/machine-of.ts";
import type { RehearsalAsked, RehearsalTold } from "./use-rehearsed.ts";

async function rehearse({ bench, script: text }: RehearsalAsked): Promise<RehearsalTold> {
  try {
    const script = readScript(text);
    const shows: RehearsedShow[] = [];
    for (const phase of PHASES) {
      const machine = await machineOf(bench, { phase, typing: script.typing });
      // Only the waits are wanted of this session; nobody reads its head.
      shows.push(rehearseShow(script, machine, { started: "", port: "", rate: 1, frame: "8N1" }));
    }
    const lost = shows[0]!.scenes.find(({ scene, seen }) => scene.expect !== undefined && seen === undefined)?.scene;
    return {
      waits: waitsOf(shows).map((each) => each ?? null),
      ...(lost ? { lost: { scene: lost.name, expect: lost.expect! } } : {}),
    };
  } catch (error) {
    const isTheirs = error instanceof InputError || error instanceof ServerProblem;
    if (!isTheirs) console.error(error);
    return { problem: isTheirs ? error.message : "Something went wrong inside the page; load it anew." };
  }
}

self.onmessage = async ({ data }: MessageEvent<RehearsalAsked>) => self.postMessage(await rehearse(data));
