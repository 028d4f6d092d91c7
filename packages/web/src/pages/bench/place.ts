import { readBench } from "@rouse/core/bench";
import { loadCatalogue } from "@rouse/core/catalogue";

let catalogue: ReturnType<typeof loadCatalogue> | undefined;

/** The built-in catalogue, read once. */
export function parts(): ReturnType<typeof loadCatalogue> {
  catalogue ??= loadCatalogue();
  return catalogue;
}

/** Line and column, from 1, of a key of the bench file; where it is not there, of the nearest key above it. */
export const placeOfKey = (text: string, key: string): { line: number; column: number } =>
  readBench(text, parts()).where(key);
