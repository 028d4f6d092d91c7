import type { Completion, CompletionContext, CompletionResult } from "@codemirror/autocomplete";
import { keysWithMeaning } from "@rouse/core/bench";
import { type Cursor, cursorAt } from "./path.ts";
import { parts } from "./place.ts";

/** Offers keys and values that can stand at the cursor, each with what it means. */
export function completeBench(context: CompletionContext): CompletionResult | null {
  const text = context.state.doc.toString();
  const cursor = cursorAt(text, context.pos);
  const written = text.slice(cursor.from, context.pos);
  if (!context.explicit && written === "" && cursor.key === undefined) return null;
  const options = cursor.key === undefined ? keysAt(cursor) : valuesAt(cursor, cursor.key, text);
  return options.length === 0 ? null : { from: cursor.from, options, validFor: /^[^\n:{}[\],#]*$/ };
}

const keysAt = ({ path }: Cursor): Completion[] =>
  keysWithMeaning(path).map(({ key, about, values }) => ({
    label: key,
    apply: `${key}: `,
    type: "property",
    ...(values.length > 0 ? { detail: values.join(" | ") } : {}),
    ...(about ? { info: about } : {}),
  }));

function valuesAt({ path }: Cursor, key: string, text: string): Completion[] {
  const meaning = keysWithMeaning(path).find((each) => each.key === key);
  if (meaning && meaning.values.length > 0)
    return meaning.values.map((label) => ({ label, type: "enum", ...(meaning.about ? { info: meaning.about } : {}) }));
  return [...partsFor(path, key), ...namesFor(path, key, text)];
}

/** Parts of the catalogue, where a key takes one. */
function partsFor(path: Cursor["path"], key: string): Completion[] {
  const catalogue = parts();
  const titled = (known: ReadonlyMap<string, { title: string }>): Completion[] =>
    [...known].map(([label, { title }]) => ({ label, type: "constant", detail: title }));
  if (["part", "uart", "driver", "receiver"].includes(key) || (key === "chips" && path.includes("memory")))
    return titled(catalogue.chips);
  if (key === "connector") return titled(catalogue.connectors);
  if (key === "recording") return titled(catalogue.recordings);
  if (key !== "class") return [];
  switch (path[0]) {
    case "drives":
      return titled(catalogue.drives);
    case "media":
      return titled(catalogue.media);
    case "terminals":
      return titled(catalogue.terminals);
    default:
      return [];
  }
}

/** Sections of the bench file whose names a key may take. */
const NAMES_OF: Readonly<Record<string, string>> = {
  bus: "buses",
  drive: "drives",
  medium: "media",
  image: "images",
  port: "ports",
  terminal: "terminals",
  from: "ports",
  to: "terminals",
};

/** Things described elsewhere in the same file, where a key names one. */
function namesFor(path: Cursor["path"], key: string, text: string): Completion[] {
  const isBoard = key === "board" && path.includes("translation");
  const section = isBoard ? "boards" : NAMES_OF[key];
  if (section === undefined || (path[0] === "images" && key === "from")) return [];
  return namesUnder(text, section).map((label) => ({ label, type: "variable", detail: "on this bench" }));
}

/** Keys one step below a section, found by their indentation, since the text may be half written. */
function namesUnder(text: string, section: string): string[] {
  const lines = text.split("\n");
  const start = lines.findIndex((line) => line.trim() === `${section}:`);
  if (start < 0) return [];
  const outer = lines[start]!.search(/\S/);
  const names: string[] = [];
  let step: number | undefined;
  for (const line of lines.slice(start + 1)) {
    const indent = line.search(/[^\s#]/);
    if (indent < 0) continue;
    if (indent <= outer) break;
    step ??= indent;
    const name = indent === step ? /^\s*"?([^":#]+)"?:/.exec(line)?.[1] : undefined;
    if (name !== undefined) names.push(name);
  }
  return names;
}
