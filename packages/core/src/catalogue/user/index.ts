import { InputError } from "../../errors/index.ts";
import { mapBlocks } from "../../geometry/index.ts";
import { BUILTIN } from "../builtin.ts";
import { type CatalogueData, NAME_KEY, type RawGroup, type UserFile } from "../raw.ts";
import { layOver, resolvePart } from "../resolve.ts";
import { catalogueSchema } from "../schema.ts";
import type { CatalogueKind, Recording, Source } from "../types.ts";

/** Something wrong in a user's catalogue file. `path` leads to it: ["chips", 0, "supply"]. */
export interface CatalogueProblem {
  path: readonly (string | number)[];
  sentence: string;
}

const KINDS = Object.keys(NAME_KEY) as CatalogueKind[];

/** The part as the built-in catalogue writes it, by name. */
function builtinRaw(kind: CatalogueKind, name: string): RawGroup | undefined {
  for (const data of Object.values(BUILTIN)) {
    const found = data[kind]?.find((each) => each[NAME_KEY[kind]] === name);
    if (found) return found;
  }
  return undefined;
}

/** The file as if it were whole: every part that overrides a built-in one, laid over that one. */
function wholeParts(data: CatalogueData): Record<string, unknown> {
  const whole: Record<string, unknown> = { ...data };
  for (const kind of KINDS) {
    const parts = data[kind];
    if (!Array.isArray(parts)) continue;
    whole[kind] = parts.map((raw: unknown) => {
      if (typeof raw !== "object" || raw === null || Array.isArray(raw)) return raw;
      const under = builtinRaw(kind, String((raw as RawGroup)[NAME_KEY[kind]]));
      return under ? layOver(under, raw as RawGroup) : raw;
    });
  }
  return whole;
}

/** All that is wrong in a catalogue file's data, in the order in which it is written. Empty where it is sound. */
export function catalogueProblems(data: unknown): CatalogueProblem[] {
  const isMap = typeof data === "object" && data !== null && !Array.isArray(data);
  const whole = isMap ? wholeParts(data as CatalogueData) : data;
  const result = catalogueSchema.safeParse(whole);
  if (!result.success)
    return result.error.issues.map((issue) => ({
      path: issue.path.filter((step) => typeof step !== "symbol"),
      sentence: issue.message,
    }));

  const problems: CatalogueProblem[] = [];
  const sources = new Map<string, Source>();
  for (const file of Object.values(BUILTIN)) for (const each of file.sources ?? []) sources.set(each.id, each);
  result.data.sources?.forEach((each, index) => {
    if (sources.has(each.id))
      problems.push({ path: ["sources", index], sentence: `the source “${each.id}” is already there under that id` });
    else sources.set(each.id, { kind: "user", ...each } as Source);
  });
  const fallback: Source = { id: "user", title: "your own file", kind: "user" };
  for (const kind of KINDS)
    (result.data[kind] as readonly RawGroup[] | undefined)?.forEach((raw, index) => {
      try {
        const part = resolvePart(raw, fallback, { kind, sources, place: "" });
        if (kind === "recordings") checkGeometry(part as unknown as Recording);
      } catch (error) {
        if (!(error instanceof InputError)) throw error;
        const [, place = "", sentence = error.message] = /^(\.[^:\s]+): (.*)$/s.exec(error.message) ?? [];
        const steps = [...place.matchAll(/[^.[\]]+/g)].map(([step]) => (/^\d+$/.test(step) ? Number(step) : step));
        problems.push({ path: [kind, index, ...steps], sentence });
      }
    });
  return problems;
}

/** A recording's tracks must all have a zone, and their sum must be the capacity stated. */
function checkGeometry({ geometry, capacity }: Recording): void {
  const { bytes } = mapBlocks(geometry);
  if (bytes !== capacity.value.value)
    throw new InputError(
      "capacity",
      `.capacity: the zones hold ${bytes} bytes, where “${capacity.value.text}” is stated.`,
    );
}

const pathInWords = (path: CatalogueProblem["path"]): string =>
  path
    .map((step) => (typeof step === "number" ? `[${step}]` : `.${step}`))
    .join("")
    .replace(/^\./, "");

/**
 * Takes the data of a user's catalogue file (parsed YAML) for `loadCatalogue`. Throws an `InputError` that names the file,
 * the place and what was expected; where more is wrong, it says how much, and `catalogueProblems` lists it.
 */
export function checkUserFile(file: string, data: unknown): UserFile {
  const [first, ...more] = catalogueProblems(data);
  if (!first) return { file, data: data as CatalogueData };
  const place = first.path.length === 0 ? file : `${file}, ${pathInWords(first.path)}`;
  const rest = more.length === 0 ? "" : ` (and ${more.length} more)`;
  throw new InputError("bad-catalogue", `${place}: ${first.sentence.replace(/\.$/, "")}${rest}.`);
}
