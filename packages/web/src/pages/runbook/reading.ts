import { InputError } from "@rouse/core/errors";
import { formatValue } from "@rouse/core/quantity";
import { checkReading, type Wanted } from "@rouse/core/runbook/state";
import { upperFirst } from "../../parts/words.ts";

/** The reading with its unit: a bare number is in the base unit, as the step asks for it. */
export function readingText(text: string, { dimension }: Wanted): string {
  const bare = /^[+\-−]?\s*[\d.,]*\d[\d.,]*$/.test(text.trim());
  return bare ? `${text.trim()} ${formatValue(1, dimension).replace(/^1 /, "")}` : text.trim();
}

/** What a reading says while it is typed. */
export function judged(
  text: string,
  wanted: Wanted,
): { is: "none" | "within" | "outside" | "unread"; sentence: string } {
  if (text.trim() === "") return { is: "none", sentence: "" };
  try {
    const { within, sentence } = checkReading(readingText(text, wanted), wanted);
    return { is: within ? "within" : "outside", sentence: upperFirst(sentence) };
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return { is: "unread", sentence: `${error.message}.`.replace(/\.\.$/, ".") };
  }
}
