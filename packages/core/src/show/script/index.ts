import { LineCounter, parseDocument } from "yaml";
import * as z from "zod";
import { InputError } from "../../errors/index.ts";
import { readClock, readStretch } from "../clock/index.ts";
import type { Scene, Script, Wait } from "../types.ts";

export {
  type Draft,
  draftOf,
  editScript,
  NEW_SCRIPT,
  SCENE_KEYS,
  type SceneKey,
  type ScriptEdit,
  TOP_KEYS,
  type TopKey,
} from "./edit.ts";

/** Common practice, no source: a calm speaker, and a person who types while others watch. */
const WORDS = 130;
const TYPING = 3;
const LARGEST = 1 << 18;

const text = z.string().min(1).max(10_000);
const time = z.string().max(40);
const schema = z.strictObject({
  show: z.literal(1),
  title: text,
  ends: time.optional(),
  spare: time.optional(),
  words: z.number().min(20).max(400).optional(),
  typing: z.number().min(0.2).max(30).optional(),
  credits: z.array(text).max(100).optional(),
  scenes: z
    .array(
      z.strictObject({
        name: text,
        do: text.optional(),
        takes: time.optional(),
        type: text.optional(),
        expect: text.optional(),
        wait: text.optional(),
        prints: z.number().int().min(0).max(1_000_000).optional(),
        say: text.optional(),
      }),
    )
    .min(1)
    .max(1000),
});

function readWait(written: string): Wait {
  const [what, ...rest] = written.trim().split(/\s+/);
  const name = rest.join(" ");
  if ((what === "boot" || what === "login") && name === "") return { job: what };
  if (what === "load" && name !== "") return { job: what, name };
  return { seconds: readStretch(written) };
}

/** Reads a script (docs/show.md). Throws an `InputError` that names line and key. */
export function readScript(written: string, file = "show.yaml"): Script {
  const fail = (line: number, sentence: string): never => {
    throw new InputError("bad-script", `${file}, line ${line}: ${sentence}`);
  };
  if (written.length > LARGEST) fail(1, "this is larger than 256 KiB; a script is a few pages");
  const lines = new LineCounter();
  const document = parseDocument(written, { version: "1.2", lineCounter: lines, prettyErrors: false });
  const broken = document.errors[0];
  if (broken)
    fail(Math.max(1, lines.linePos(broken.pos[0]).line), `this is not YAML: ${broken.message.split("\n")[0]}`);
  const lineOf = (path: readonly PropertyKey[]): number => {
    for (let length = path.length; length > 0; length--) {
      const node = document.getIn(path.slice(0, length), true) as { range?: readonly number[] } | undefined;
      if (node?.range?.[0] !== undefined) return Math.max(1, lines.linePos(node.range[0]).line);
    }
    return 1;
  };
  let data: unknown;
  try {
    data = document.toJS({ maxAliasCount: 100 });
  } catch {
    return fail(1, "this refers to its own parts too often to be unfolded");
  }
  const parsed = schema.safeParse(data);
  if (!parsed.success) {
    const issue = parsed.error.issues[0]!;
    const key = issue.path.map(String).join(".");
    return fail(lineOf(issue.path), `${key === "" ? "the script" : key}: ${issue.message}`);
  }
  const read = <T>(path: readonly PropertyKey[], reader: (value: string) => T, value: string | undefined) => {
    if (value === undefined) return undefined;
    try {
      return reader(value);
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      return fail(lineOf(path), `${path.map(String).join(".")}: ${error.message}`);
    }
  };
  const { title, ends, spare, words, typing, credits, scenes } = parsed.data;
  const end = read(["ends"], readClock, ends);
  return {
    title,
    ...(end === undefined ? {} : { ends: end }),
    spare: read(["spare"], readStretch, spare) ?? 0,
    words: words ?? WORDS,
    typing: typing ?? TYPING,
    credits: credits ?? [],
    scenes: scenes.map((scene, index): Scene => {
      const takes = read(["scenes", index, "takes"], readStretch, scene.takes);
      const wait = read(["scenes", index, "wait"], readWait, scene.wait);
      const { name, do: does, type, expect, prints, say } = scene;
      return {
        name,
        ...(does === undefined ? {} : { do: does }),
        ...(takes === undefined ? {} : { takes }),
        ...(type === undefined ? {} : { type }),
        ...(expect === undefined ? {} : { expect }),
        ...(wait === undefined ? {} : { wait }),
        ...(prints === undefined ? {} : { prints }),
        ...(say === undefined ? {} : { say }),
      };
    }),
  };
}
