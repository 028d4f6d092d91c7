import { InputError } from "@rouse/core/errors";
import { checkReading, type Wanted } from "@rouse/core/runbook/state";
import { upperFirst } from "../../parts/words.ts";

/** What a reading says while it is typed. */
export function judged(
  text: string,
  wanted: Wanted,
): { is: "none" | "within" | "outside" | "unread"; sentence: string } {
  if (text.trim() === "") return { is: "none", sentence: "" };
  try {
    const { within, sentence } = checkReading(text, wanted);
    return { is: within ? "within" : "outside", sentence: upperFirst(sentence) };
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return { is: "unread", sentence: `${error.message}.`.replace(/\.\.$/, ".") };
  }
}
