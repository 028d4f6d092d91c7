import { type Document, isMap, isSeq, parseDocument, Scalar } from "yaml";
import { InputError } from "../../errors/index.ts";

export const SCENE_KEYS = ["name", "do", "takes", "type", "wait", "prints", "expect", "say"] as const;
export type SceneKey = (typeof SCENE_KEYS)[number];
export const TOP_KEYS = ["title", "ends", "spare", "words", "typing"] as const;
export type TopKey = (typeof TOP_KEYS)[number];

/** A script as it is written, value by value, whether or not it can be used. */
export interface Draft {
  top: Partial<Record<TopKey, string>>;
  scenes: readonly Partial<Record<SceneKey, string>>[];
}

export type ScriptEdit =
  | { top: TopKey; value: string }
  | { scene: number; key: SceneKey; value: string }
  /** A new scene in this place. */
  | { add: number }
  | { remove: number }
  | { move: number; to: number };

const NUMBERS: readonly string[] = ["prints", "words", "typing"];
/** A new script: the least that can be used. */
export const NEW_SCRIPT = `# What is done, typed and said, and what comes of it.
show: 1
title: The show
scenes:
  - name: The start
    wait: boot
    say: Now it wakes.
`;

function parsed(text: string): Document | undefined {
  const document = parseDocument(text, { version: "1.2", prettyErrors: false });
  return document.errors.length === 0 && isMap(document.contents) ? document : undefined;
}

const values = <Key extends string>(keys: readonly Key[], of: unknown): Partial<Record<Key, string>> => {
  const found: Partial<Record<Key, string>> = {};
  const map = (typeof of === "object" && of !== null ? of : {}) as Record<string, unknown>;
  for (const key of keys) {
    const value = map[key];
    if (typeof value === "string" || typeof value === "number") found[key] = String(value);
  }
  return found;
};

/** What a script says, for fields to edit; undefined where it is not YAML of that shape. */
export function draftOf(text: string): Draft | undefined {
  let data: unknown;
  try {
    data = parsed(text)?.toJS({ maxAliasCount: 100 });
  } catch {
    return undefined;
  }
  if (typeof data !== "object" || data === null) return undefined;
  const { scenes } = data as { scenes?: unknown };
  if (scenes !== undefined && scenes !== null && !Array.isArray(scenes)) return undefined;
  return { top: values(TOP_KEYS, data), scenes: (scenes ?? []).map((each: unknown) => values(SCENE_KEYS, each)) };
}

function written(key: string, value: string): unknown {
  if (NUMBERS.includes(key) && value.trim() !== "" && Number.isFinite(Number(value))) return Number(value);
  if (!value.includes("\n")) return value;
  const scalar = new Scalar(value.endsWith("\n") ? value : `${value}\n`);
  scalar.type = Scalar.BLOCK_LITERAL;
  return scalar;
}

/** The text with one change made and its comments kept. An empty value takes the key out. Throws an `InputError` for no YAML. */
export function editScript(text: string, edit: ScriptEdit): string {
  const document = parsed(text);
  if (!document)
    throw new InputError("bad-script", "The text is not a script that can be changed here; mend it as text.");
  const set = (path: readonly (string | number)[], key: string, value: string): void => {
    if (value === "") document.deleteIn([...path, key]);
    else document.setIn([...path, key], document.createNode(written(key, value)));
  };
  const scenes = document.get("scenes");
  if ("top" in edit) set([], edit.top, edit.value);
  else if (!isSeq(scenes)) {
    if ("add" in edit) document.set("scenes", document.createNode([{ name: "A new scene" }]));
  } else if ("scene" in edit) {
    if (edit.scene < scenes.items.length) set(["scenes", edit.scene], edit.key, edit.value);
  } else if ("add" in edit) {
    scenes.flow = false;
    scenes.items.splice(edit.add, 0, document.createNode({ name: "A new scene" }));
  } else if ("remove" in edit) scenes.items.splice(edit.remove, 1);
  else {
    const [moved] = scenes.items.splice(edit.move, 1);
    if (moved !== undefined) scenes.items.splice(edit.to, 0, moved);
  }
  return document.toString({ lineWidth: 110 });
}
