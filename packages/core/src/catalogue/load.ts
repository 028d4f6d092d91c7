import { InputError } from "../errors/index.ts";
import { BUILTIN } from "./builtin.ts";
import { Parts } from "./parts.ts";
import { NAME_KEY, type RawGroup, type UserFile } from "./raw.ts";
import { layOver, resolvePart } from "./resolve.ts";
import type { Catalogue, CatalogueKind, Source } from "./types.ts";

/** One mention of a part: in a built-in file, or in a user's file that adds it or overrides values of it. */
interface Mention {
  raw: RawGroup;
  place: string;
  /** The source of values that name none. */
  fallback: Source;
}

/** Stands where a built-in part names no source; the tests hold that none does. */
const UNNAMED: Source = { id: "unnamed", title: "no source named", kind: "memory" };

/** The source of every value in a user's file that names no other. */
const userSource = (file: string): Source => ({ id: `user:${file}`, title: `your own file ${file}`, kind: "user" });

let builtin: Catalogue | undefined;

/**
 * The catalogue, with the user's own files laid over it in the given order: a part that is already there keeps what the
 * file doesn't mention. Files are checked beforehand by `checkUserFile` (`@rouse/core/catalogue/user`).
 */
export function loadCatalogue(extra: readonly UserFile[] = []): Catalogue {
  if (extra.length > 0) return assemble(extra);
  builtin ??= assemble([]);
  return builtin;
}

function assemble(extra: readonly UserFile[]): Catalogue {
  const sources = new Map<string, Source>();
  for (const data of Object.values(BUILTIN)) for (const source of data.sources ?? []) sources.set(source.id, source);
  for (const { file, data } of extra)
    for (const source of data.sources ?? []) {
      if (sources.has(source.id))
        throw new InputError("source-twice", `${file}: the source “${source.id}” is already there under that id.`);
      sources.set(source.id, { id: source.id, title: source.title, kind: source.kind ?? "user" });
    }

  const gather = <Part>(kind: CatalogueKind): ReadonlyMap<string, Part> => {
    const mentions = new Map<string, Mention[]>();
    const note = (raw: RawGroup, place: string, fallback: Source) => {
      const name = String(raw[NAME_KEY[kind]]);
      const known = mentions.get(name);
      if (known) known.push({ raw, place, fallback });
      else mentions.set(name, [{ raw, place, fallback }]);
    };
    for (const [file, data] of Object.entries(BUILTIN))
      data[kind]?.forEach((raw, index) => {
        note(raw, `${file}.yaml: ${kind}[${index}]`, UNNAMED);
      });
    for (const { file, data } of extra)
      data[kind]?.forEach((raw, index) => {
        note(raw, `${file}: ${kind}[${index}]`, userSource(file));
      });
    const make = (name: string): Part => {
      let part: RawGroup = {};
      for (const [index, { raw, place, fallback }] of mentions.get(name)!.entries()) {
        const resolved = resolvePart(raw, fallback, { kind, sources, place });
        part = index === 0 ? resolved : layOver(part, resolved);
      }
      // The schema holds the shape: at test time for built-in parts, in `checkUserFile` for a user's.
      return (kind === "chips" ? { supply: [], delays: [], ...part } : part) as Part;
    };
    return new Parts(new Set(mentions.keys()), make);
  };
  return {
    sources,
    chips: gather("chips"),
    drives: gather("drives"),
    media: gather("media"),
    recordings: gather("recordings"),
    connectors: gather("connectors"),
    terminals: gather("terminals"),
    levels: gather("levels"),
  };
}
