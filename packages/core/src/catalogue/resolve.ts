import { BugError, InputError } from "../errors/index.ts";
import { type Dimension, parseQuantity, type Quantity } from "../quantity/index.ts";
import { DIMENSIONS, KEEPS_SOURCE, type Measures, type RawGroup } from "./raw.ts";
import type { CatalogueKind, Source, Sourced } from "./types.ts";

/** What a part is resolved against. */
interface Setting {
  kind: CatalogueKind;
  sources: ReadonlyMap<string, Source>;
  /** The part's own place, at the head of a message. */
  place: string;
}

const isGroup = (value: unknown): value is RawGroup =>
  typeof value === "object" && value !== null && !Array.isArray(value);

/** Values read before: "0.4 mA" stands in a hundred places. */
const read = new Map<string, Quantity>();

function quantityOf(text: string, dimension: Dimension): Quantity {
  const key = `${dimension} ${text}`;
  const known = read.get(key);
  if (known) return known;
  const quantity = parseQuantity(text, dimension);
  read.set(key, quantity);
  return quantity;
}

/** Turns a part as written into one whose every value carries its source. Throws an `InputError` with the place. */
export function resolvePart(raw: RawGroup, fallback: Source, { kind, sources, place }: Setting): RawGroup {
  /** Keys from the part down to where the walk is. */
  const trail: (string | number)[] = [];
  const here = (): string => place + trail.map((key) => (typeof key === "number" ? `[${key}]` : `.${key}`)).join("");

  const sourceOf = (each: RawGroup, otherwise: Source): Source => {
    if (each.source === undefined) return otherwise;
    const source = sources.get(String(each.source));
    if (!source) throw new InputError("no-source", `${here()}: there is no source “${String(each.source)}”.`);
    return source;
  };
  const value = (each: unknown, dimension: Dimension, source: Source, note: unknown): Sourced => {
    if (isGroup(each)) return value(each.is, dimension, sourceOf(each, source), each.note ?? note);
    try {
      const quantity = quantityOf(String(each), dimension);
      return note === undefined ? { value: quantity, source } : { value: quantity, source, note: String(note) };
    } catch (error) {
      throw error instanceof InputError ? new InputError(error.code, `${here()}: ${error.message}`) : error;
    }
  };
  const walk = (each: unknown, measures: Measures | undefined, source: Source, note: unknown): unknown => {
    if (Array.isArray(each))
      return each.map((item, index) => {
        trail.push(index);
        const result = walk(item, measures, source, note);
        trail.pop();
        return result;
      });
    if (typeof measures === "string") return value(each, measures, source, note);
    if (!isGroup(each)) return each;
    const own = sourceOf(each, source);
    const ownNote = each.note ?? note;
    const group: Record<string, unknown> = {};
    for (const key in each) {
      if (key === "source" || key === "note") continue;
      const below = measures?.[key];
      const item = each[key];
      trail.push(key);
      group[key] = typeof item === "object" || below !== undefined ? walk(item, below, own, ownNote) : item;
      trail.pop();
    }
    const keeps =
      trail.length === 0
        ? KEEPS_SOURCE.has(kind)
        : (kind === "chips" && trail[0] === "uart" && trail.length === 1) ||
          (kind === "recordings" && trail[0] === "layout" && trail.length === 2);
    if (keeps) group.source = own;
    return group;
  };
  const part = walk(raw, DIMENSIONS[kind], fallback, undefined);
  if (!isGroup(part)) throw new BugError(`A part of the catalogue is not a group: ${place}`);
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
