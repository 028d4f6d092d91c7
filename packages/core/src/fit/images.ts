import { InputError } from "../errors/index.ts";
import { inspectSystem, needsOf } from "../system/index.ts";
import { type Opened, openBest } from "../volume/index.ts";
import type { SurveyedImage } from "./frame.ts";

/** Opens an image for the checks. `beside` holds ROM images whose modules are in memory at boot too. */
export function surveyForFit(
  name: string,
  bytes: Uint8Array,
  beside: Parameters<typeof inspectSystem>[1] = [],
): SurveyedImage {
  let opened: Opened;
  try {
    opened = openBest(bytes);
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return { name, size: bytes.length, needs: [] };
  }
  const system = inspectSystem(opened.volume, beside);
  return { name, size: bytes.length, volume: opened.volume, system, needs: needsOf(system, opened.volume) };
}

/** An image that could not be read, with the sentence that says why. */
export const unreadableImage = (name: string, problem: string): SurveyedImage => ({
  name,
  size: 0,
  problem,
  needs: [],
});
