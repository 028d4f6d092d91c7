/** The machine, beside the page, which stays at hand meanwhile. */
import { InputError } from "@rouse/core/errors";
import { ServerProblem } from "../../job/api.ts";
import { Engine } from "./engine.ts";
import { machineOf } from "./machine-of.ts";
import type { Asked, Told } from "./types.ts";

const tell = (told: Told): void => self.postMessage(told);
const clock = (): number => performance.now();

let engine: Engine | undefined;
let timer: ReturnType<typeof setTimeout> | undefined;
let isDue = false;

/** Comes back after messages that wait, sooner than any timer does. */
const channel = new MessageChannel();
channel.port1.onmessage = () => {
  isDue = false;
  turn();
};

function turn(): void {
  if (!engine) return;
  clearTimeout(timer);
  const wait = engine.turn();
  if (wait === 0) {
    if (!isDue) channel.port2.postMessage(null);
    isDue = true;
  } else if (Number.isFinite(wait)) timer = setTimeout(turn, wait);
}

async function switchOn(text: string): Promise<void> {
  engine = undefined;
  clearTimeout(timer);
  try {
    const made = new Engine(await machineOf(text), { clock, tell });
    tell({ kind: "on", about: made.about });
    engine = made;
    turn();
  } catch (error) {
    const isTheirs = error instanceof InputError || error instanceof ServerProblem;
    if (!isTheirs) console.error(error);
    tell({
      kind: "off",
      sentence: isTheirs ? error.message : "Something went wrong inside the page; load it anew.",
    });
  }
}

self.onmessage = ({ data }: MessageEvent<Asked>) => {
  if (data.kind === "switch on") void switchOn(data.text);
  else if (engine) {
    engine.obey(data);
    if (!isDue) turn();
  }
};
