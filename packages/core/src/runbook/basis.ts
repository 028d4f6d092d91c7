/** Words for a person, where a value stands in a file, where an image came from: they change without the bench changing. */
const LEFT_OUT = new Set(["text", "title", "note", "about", "path", "source", "sources", "chip", "origin"]);

/** A value of the bench as text that is the same for the same bench: keys sorted, parts of the catalogue by their id. */
function plain(value: unknown): string {
  if (typeof value !== "object" || value === null) return value === undefined ? "null" : JSON.stringify(value);
  if (Array.isArray(value)) return `[${value.map(plain).join(",")}]`;
  if ("id" in value && "source" in value) return JSON.stringify(value.id);
  const entries: [string, unknown][] =
    value instanceof Map ? [...value].map(([key, each]) => [String(key), each]) : Object.entries(value);
  const isMap = value instanceof Map;
  return `{${entries
    .filter(([key, each]) => each !== undefined && (isMap || !LEFT_OUT.has(key)))
    .map(([key, each]) => `${JSON.stringify(key)}:${plain(each)}`)
    .sort()
    .join(",")}}`;
}

const MASK = (1n << 64n) - 1n;

/** FNV-1a of 64 bits (draft-eastlake-fnv), over UTF-16 code units low byte first: names a state, guards against nobody. */
export function fnv1a(text: string): string {
  let hash = 0xcbf29ce484222325n;
  for (let index = 0; index < text.length; index++) {
    const code = text.charCodeAt(index);
    hash = ((hash ^ BigInt(code & 0xff)) * 0x100000001b3n) & MASK;
    if (code > 0xff) hash = ((hash ^ BigInt(code >> 8)) * 0x100000001b3n) & MASK;
  }
  return hash.toString(16).padStart(16, "0");
}

/** Names what a step rests on. */
export const basisOf = (rests: unknown): string => fnv1a(plain(rests));
