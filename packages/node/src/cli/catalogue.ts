import type { Catalogue, Source } from "@rouse/core/catalogue";
import { findChip } from "@rouse/core/catalogue";
import { InputError } from "@rouse/core/errors";
import { formatQuantity, type Quantity } from "@rouse/core/quantity";
import { jobCatalogue } from "../job/index.ts";
import { openJob } from "../store/index.ts";
import { columns, paint } from "./text.ts";
import type { Verb } from "./verb.ts";

const KINDS = ["chips", "drives", "media", "recordings", "connectors", "terminals"] as const;

const isSource = (value: unknown): value is Source =>
  typeof value === "object" && value !== null && "id" in value && "kind" in value && "title" in value;
const isQuantity = (value: unknown): value is Quantity =>
  typeof value === "object" && value !== null && "dimension" in value;

const isGroup = (value: unknown): value is object => typeof value === "object" && value !== null;

/** A source with its kind, where its title doesn't say that already. */
const sourceText = (source: Source | undefined): string =>
  source === undefined ? "" : source.title.includes(source.kind) ? source.title : `${source.title} · ${source.kind}`;

/** Rows of label, value, source for everything that a part states; a plain list, or a plain group in a list, is one row. */
function rowsOf(part: object, label = "", inherited?: Source): string[][] {
  if ("value" in part && "source" in part && isSource(part.source)) {
    const { value } = part;
    const note = "note" in part ? ` (${part.note})` : "";
    return [[label, `${isQuantity(value) ? formatQuantity(value) : String(value)}${note}`, sourceText(part.source)]];
  }
  const source = "source" in part && isSource(part.source) ? part.source : inherited;
  if (Array.isArray(part)) {
    if (part.length > 0 && !part.some(isGroup)) return [[label, part.join(", "), sourceText(source)]];
    return part.flatMap((each: object): string[][] => {
      const values = Object.entries(each).filter(([, value]) => value !== undefined);
      if (values.some(([, value]) => isGroup(value))) return rowsOf(each, label, source);
      return [[label, values.map(([key, value]) => `${key} ${value}`).join(", "), sourceText(source)]];
    });
  }
  return Object.entries(part).flatMap(([key, value]): string[][] => {
    if (key === "source" || value === undefined) return [];
    const name = label ? `${label}, ${key}` : key;
    return isGroup(value) ? rowsOf(value, name, source) : [[name, String(value), sourceText(source)]];
  });
}

export const verb: Verb = {
  usage: "[KIND [PART]]",
  help: [
    "Lists the parts that a bench file can name, or one part with every value and its source.",
    `KIND is one of ${KINDS.join(", ")}. Files in the job's catalogue/ folder are laid over it (docs/catalogue.md).`,
  ],
  options: {
    job: { type: "string", value: "FOLDER", about: "use that job's own catalogue files too" },
    json: { type: "boolean", about: "print for machines" },
  },
  examples: [
    ["rouse catalogue drives", "drive classes by their names"],
    ["rouse catalogue chips 74LS244", "what is known of a chip, and who says so"],
  ],
  async run({ positionals, values }, out) {
    const { loadCatalogue } = await import("@rouse/core/catalogue");
    const catalogue: Catalogue =
      typeof values.job === "string" ? await jobCatalogue(await openJob(values.job)) : loadCatalogue();
    const [kind, name] = positionals;
    if (kind === undefined) {
      for (const line of columns(KINDS.map((each) => [`  ${each}`, `${catalogue[each].size} parts`]))) out.line(line);
      return 0;
    }
    const known = KINDS.find((each) => each === kind);
    const { nearest } = await import("@rouse/core/errors/nearest");
    if (!known) {
      const close = nearest(kind, KINDS);
      throw new InputError(
        "no-such-kind",
        `There is no kind of part “${kind}”; ${close ? `did you mean “${close}”?` : `there is ${KINDS.join(", ")}.`}`,
      );
    }
    const parts: ReadonlyMap<string, { title: string }> = catalogue[known];
    if (name === undefined) {
      if (values.json) out.line(JSON.stringify([...parts.values()], null, 2));
      else for (const line of columns([...parts].map(([id, part]) => [`  ${id}`, part.title]))) out.line(line);
      return 0;
    }
    const part = known === "chips" ? findChip(catalogue, name) : parts.get(name);
    if (!part) {
      const close = nearest(name, parts.keys());
      throw new InputError(
        "no-such-part",
        `The catalogue has no “${name}” among its ${known}${close ? `; did you mean “${close}”?` : "."}`,
      );
    }
    if (values.json) out.line(JSON.stringify(part, null, 2));
    else {
      out.line(paint(out.colour, "bold", part.title));
      for (const line of columns(
        rowsOf(part)
          .filter(([label]) => label !== "title")
          .map(([label, value, source]) => [`  ${label}`, value!, source!]),
      ))
        out.line(line);
    }
    return 0;
  },
};
