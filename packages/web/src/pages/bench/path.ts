/** Where the cursor stands in a bench file that may be half written: found by indentation, not by parsing. */
export interface Cursor {
  /** Keys above the cursor, outermost first; numbers for items of a list. */
  path: readonly (string | number)[];
  /** The key whose value is being written; undefined where a key is. */
  key?: string;
  /** Offset in the text at which the word being written begins. */
  from: number;
}

const KEY = /^(\s*)((?:- +)*)(?:"([^"]*)"|'([^']*)'|((?!- )[^\s#:{[][^:#{[]*?)):(?:\s|$)/;

interface Level {
  indent: number;
  key: string;
}

export function cursorAt(text: string, position: number): Cursor {
  const lineStart = text.lastIndexOf("\n", position - 1) + 1;
  const before = text.slice(lineStart, position);
  const above = text.slice(0, lineStart).split("\n").slice(0, -1);
  const dash = /^(\s*)((?:- +)*)/.exec(before);
  const indent = (dash?.[1]?.length ?? 0) + (dash?.[2]?.length ?? 0);
  const path: (string | number)[] = [...pathAbove(above, dash?.[2] ? (dash[1]?.length ?? 0) + 1 : indent)];
  if (dash?.[2]) path.push(0);

  const key = KEY.exec(`${before} `);
  const rest =
    key && key[0].length <= before.length + 1 ? before.slice(Math.min(before.length, key[0].trimEnd().length)) : before;
  const own = key ? (key[3] ?? key[4] ?? key[5] ?? "").trim() : undefined;
  if (own !== undefined && key) return within(path, own, rest, position);
  // A flow map as an item of a list: `- { part: …`.
  if (/^\s*(?:- +)+\{/.test(before)) return within(path, undefined, before.replace(/^\s*(?:- +)+/, ""), position);
  return { path, from: position - (/[^\s-][^:]*$/.exec(before.slice(indent))?.[0].length ?? 0) };
}

/** Keys above a line of this indentation. */
function pathAbove(lines: readonly string[], indent: number): (string | number)[] {
  const levels: (Level & { item: boolean })[] = [];
  let limit = indent;
  for (let index = lines.length - 1; index >= 0 && limit > 0; index--) {
    const line = lines[index]!;
    if (/^\s*(#|$)/.test(line)) continue;
    const found = KEY.exec(line);
    const item = /^\s*-\s/.test(line);
    const outer = /^\s*/.exec(line)![0].length;
    if (!found) {
      if (item && outer < limit) limit = outer + 1;
      continue;
    }
    const at = found[1]!.length + found[2]!.length;
    const key = (found[3] ?? found[4] ?? found[5] ?? "").trim();
    if (at < limit && line.slice(found[0].length).replace(/#.*/, "").trim() === "") {
      levels.unshift({ indent: at, key, item });
      limit = item ? outer + 1 : at;
    } else if (item && outer < limit) {
      limit = outer + 1;
      levels.unshift({ indent: outer, key: "", item: true });
    }
  }
  return levels.flatMap(({ key, item }): (string | number)[] => [...(item ? [0] : []), ...(key === "" ? [] : [key])]);
}

/** Inside the value of `own`: plain, or a flow map or list that begins in this line. */
function within(path: readonly (string | number)[], own: string | undefined, rest: string, position: number): Cursor {
  const inner: (string | number)[] = own === undefined ? [...path] : [...path, own];
  const flows: { open: string; key?: string }[] = [];
  let word = "";
  let key: string | undefined;
  for (const character of rest) {
    if (character === "{" || character === "[") {
      flows.push({ open: character, ...(key === undefined ? {} : { key }) });
      key = undefined;
      word = "";
    } else if (character === "}" || character === "]") {
      flows.pop();
      word = "";
    } else if (character === ",") {
      if (flows.at(-1)?.open === "{") key = undefined;
      word = "";
    } else if (character === ":" && flows.at(-1)?.open === "{" && key === undefined) {
      key = word.trim();
      word = "";
    } else word += character;
  }
  const from = position - word.trimStart().length;
  for (const flow of flows) {
    if (flow.key !== undefined) inner.push(flow.key);
    if (flow.open === "[") inner.push(0);
  }
  if (flows.length === 0) return own === undefined ? { path: inner, from } : { path, key: own, from };
  return key === undefined ? { path: inner, from } : { path: inner, key, from };
}
