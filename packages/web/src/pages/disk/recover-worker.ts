/** Recovers captures beside the page, which stays at hand meanwhile. */
import { InputError } from "@rouse/core/errors";
import { recoverTold } from "./recovered.ts";
import type { RecoverAsked } from "./types.ts";

self.onmessage = ({ data }: MessageEvent<RecoverAsked>) => {
  try {
    self.postMessage({ told: recoverTold(data, () => performance.now()) });
  } catch (error) {
    const problem = error instanceof InputError ? error.message : "Something went wrong inside the page; load it anew.";
    self.postMessage({ problem });
  }
};
