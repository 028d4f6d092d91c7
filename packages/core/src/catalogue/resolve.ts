import { BugError, InputError } from "../errors/index.ts";
import { parseQuantity } from "../quantity/index.ts";
import { DIMENSIONS, KEEPS_SOURCE, type RawGroup } from "./raw.ts";
import type { CatalogueKind, Source, Sourced } from "./types.ts";

/** What a part is resolved against. `place` heads the path in messages. */
interface Setting {
  kind: CatalogueKind;
  sources: ReadonlyMap<string, Source>;
  place: string;
}

const isGroup = (value: unknown): value is RawGroup =>
  typeof value === "object" && value !== null && !Array.isArray(value);

/** Turns a part as written into one whose every value carries its source. Throws an `InputError` with the place. */
export function resolvePart(raw: RawGroup, fallback: Source, setting: Setting): RawGroup {
  const sourceNamed = (id: unknown, place: string): Source => {
    const source = setting.sources.get(String(id));
    if (!source) throw new InputError("no-source", `${place}: there is no source “${String(id)}”.`);
    return source;
  };
  const value = (is: unknown, place: string, path: string, source: Source, note: string | undefined): Sourced => {
    const dimension = DIMENSIONS[setting.kind][path]!;
    if (isGroup(is))
      return value(
        is.is,
        place,
        path,
        is.source === undefined ? source : sourceNamed(is.source, place),
        (is.note as string | undefined) ?? note,
      );
    try {
      const quantity = parseQuantity(String(is), dimension);
      return note === undefined ? { value: quantity, source } : { value: quantity, source, note };
    } catch (error) {
      throw error instanceof InputError ? new InputError(error.code, `${place}: ${error.message}`) : error;
    }
  };
  const walk = (each: unknown, place: string, path: string, source: Source, note: string | undefined): unknown => {
    const isValue = DIMENSIONS[setting.kind][path] !== undefined;
    if (Array.isArray(each)) return each.map((item, index) => walk(item, `${place}[${index}]`, path, source, note));
    if (isValue) return value(each, place, path, source, note);
    if (!isGroup(each)) return each;
    const own = each.source === undefined ? source : sourceNamed(each.source, place);
    const ownNote = (each.note as string | undefined) ?? note;
    const group: Record<string, unknown> = {};
    for (const [key, item] of Object.entries(each)) {
      if (key === "source" || key === "note") continue;
      group[key] = walk(item, `${place}.${key}`, path === "" ? key : `${path}.${key}`, own, ownNote);
    }
    if (KEEPS_SOURCE.has(path === "" ? setting.kind : `${setting.kind}.${path}`)) group.source = own;
    return group;
  };
  const part = walk(raw, setting.place, "", fallback, undefined);
  if (!isGroup(part)) throw new BugError(`A part of the catalogue is not a group: ${setting.place}`);
  return part;
}

/**
 * Lays a user's part over one that is already there: groups key by key, while a value or a list replaces what was there.
 * Works on parts as written and on resolved ones alike, since a value is never merged into another.
 */
export function layOver(under: RawGroup, over: RawGroup): RawGroup {
  const result: Record<string, unknown> = { ...under };
  for (const [key, value] of Object.entries(over)) {
    const below = result[key];
    const isValue = isGroup(value) && ("is" in value || "value" in value);
    result[key] = isGroup(below) && isGroup(value) && !isValue && key !== "source" ? layOver(below, value) : value;
  }
  return result;
}
