import { isMap, isPair, isScalar, isSeq, LineCounter, type Node, type Pair, parseDocument, visit } from "yaml";
import type * as z from "zod";
import { visible } from "../bytes/text.ts";
import { nearest } from "../errors/nearest.ts";
import { type Rest, restOf } from "./rest.ts";
import { type BenchFile, benchSchema } from "./schema.ts";

/** Something in a bench file that cannot be used. Line and column count from 1; `length` is in characters. */
export interface BenchIssue {
  line: number;
  column: number;
  length: number;
  /** Dotted key: `computer.cpu.clock`. */
  path: string;
  sentence: string;
}

/** A bench file read, or what is wrong with it and what can be used all the same; `where` finds any key in the text. */
export interface ReadBench {
  file?: BenchFile;
  rest?: Rest;
  issues: readonly BenchIssue[];
  where(path: readonly (string | number)[], on?: "key" | "value"): { line: number; column: number; length: number };
}

/** A path as one key: parts joined by dots, a part that holds a dot in quotes. `pathOf` takes it apart again. */
export const keyOf = (path: readonly (string | number)[]): string =>
  path.map((part) => (String(part).includes(".") ? `"${part}"` : String(part))).join(".");

export const pathOf = (key: string): string[] =>
  (key.match(/"[^"]*"|[^.]+/g) ?? []).map((part) => part.replace(/^"(.*)"$/, "$1"));

/** Larger texts are refused: no bench needs a mebibyte. */
const LARGEST = 1 << 20;

/** Whether a terminal can print a text without obeying anything in it. */
const isPlain = (text: string): boolean => {
  const line = text.replace(/[\n\t]/g, " ");
  return visible(line) === line;
};

/** Reads the text of a bench file. All issues of its form are found at once; errors of YAML itself hide those. */
export function readBenchFile(text: string): ReadBench {
  const lines = new LineCounter();
  if (text.length > LARGEST) {
    const issue = {
      line: 1,
      column: 1,
      length: 1,
      path: "",
      sentence: "This file is larger than 1 MiB; a bench file is a few pages of YAML",
    };
    return { issues: [issue], where: () => ({ line: 1, column: 1, length: 1 }) };
  }
  const document = parseDocument(text, { lineCounter: lines, version: "1.2", prettyErrors: false });

  const spot = (range: readonly [number, number, number] | readonly number[] | null | undefined) => {
    const start = range?.[0] ?? 0;
    const { line, col } = lines.linePos(start);
    const end = Math.max(start + 1, range?.[1] ?? start + 1);
    const newline = text.indexOf("\n", start);
    return {
      line: Math.max(1, line),
      column: Math.max(1, col),
      length: Math.max(1, Math.min(end, newline < 0 ? end : newline) - start),
    };
  };
  const pairAt = (node: unknown, key: string | number): Pair | undefined =>
    isMap(node)
      ? (node.items as unknown[])
          .filter(isPair)
          .find((item) => String(isScalar(item.key) ? item.key.value : item.key) === String(key))
      : undefined;
  const where: ReadBench["where"] = (path, on = "value") => {
    let node: unknown = document.contents;
    let range = document.contents?.range ?? undefined;
    for (const key of path) {
      const pair = pairAt(node, key);
      const item = pair ?? (isSeq(node) ? (node.items[Number(key)] as Node | undefined) : undefined);
      if (!item) break;
      if (isPair(item)) {
        const keyRange = (item.key as Node | null)?.range;
        node = item.value;
        const last = key === path.at(-1);
        range =
          (last && on === "key") || isMap(node) || isSeq(node) || !(node as Node | null)?.range
            ? (keyRange ?? undefined)
            : ((node as Node).range ?? undefined);
      } else {
        node = item;
        range = item.range ?? undefined;
      }
    }
    return spot(range);
  };

  const issues: BenchIssue[] = [...document.errors, ...document.warnings].map((error) => ({
    ...spot(error.pos),
    path: "",
    sentence: syntaxSentence(error.code, error.message),
  }));
  if (issues.length > 0) return { issues, where };
  // YAML takes a frame such as 7E1 for the number 70; only plain numbers are meant as numbers here.
  visit(document, {
    Scalar(_key, node) {
      if (typeof node.value === "string" && !isPlain(node.value)) {
        issues.push({ ...spot(node.range), path: "", sentence: "This text holds a control character" });
        node.value = visible(node.value);
      }
      if (
        typeof node.value === "number" &&
        node.source !== undefined &&
        !/^[-+]?(\d+(\.\d+)?|0x[0-9a-f]+)$/i.test(node.source)
      )
        node.value = node.source;
    },
  });
  let data: unknown;
  try {
    data = document.toJS({ maxAliasCount: 100 });
  } catch {
    return {
      issues: [
        {
          line: 1,
          column: 1,
          length: 1,
          path: "",
          sentence: "This file refers to its own parts too often to be unfolded",
        },
      ],
      where,
    };
  }
  const parsed = benchSchema.safeParse(withoutEmpty(benchSchema, data), { reportInput: true });
  if (parsed.success && issues.length === 0) return { file: parsed.data, issues, where };
  for (const issue of parsed.error?.issues ?? []) {
    const path = issue.path.map((key) => (typeof key === "symbol" ? String(key) : key));
    if (issue.code === "unrecognized_keys") {
      const known = keysAt(benchSchema, path);
      for (const key of issue.keys) {
        const close = nearest(key, known);
        issues.push({
          ...where([...path, key], "key"),
          path: keyOf([...path, key]),
          sentence: close
            ? `“${key}” is not a key here; did you mean “${close}”?`
            : `“${key}” is not a key here; expected one of ${known.join(", ")}`,
        });
      }
    } else issues.push({ ...where(path), path: keyOf(path), sentence: sentenceOf(issue, path) });
  }
  const rest = restOf(benchSchema, withoutEmpty(benchSchema, data));
  return { issues: issues.sort(byPlace), where, ...(rest ? { rest } : {}) };
}

export const byPlace = (a: BenchIssue, b: BenchIssue): number => a.line - b.line || a.column - b.column;

const NAMES: Readonly<Record<string, string>> = {
  string: "a text",
  number: "a number",
  int: "a whole number",
  boolean: "true or false",
  object: "keys with values",
  record: "names, each with its keys below it",
  array: "a list",
  tuple: "a list",
};

function sentenceOf(issue: z.core.$ZodIssue, path: readonly (string | number)[]): string {
  const key = path.at(-1) ?? "this file";
  switch (issue.code) {
    case "invalid_type":
      return issue.input === undefined
        ? `“${key}” is missing; expected ${NAMES[issue.expected] ?? issue.expected}`
        : `“${key}” should be ${NAMES[issue.expected] ?? issue.expected}`;
    case "invalid_value":
      return issue.input === undefined
        ? `“${key}” is missing; expected ${issue.values.join(" or ")}`
        : notAmong(key, issue.values.map(String), issue.input);
    case "too_small":
      return `“${key}” should be at least ${issue.minimum}${issue.origin === "array" ? " long" : ""}`;
    case "too_big":
      return `“${key}” should be at most ${issue.maximum}${issue.origin === "array" ? " long" : ""}`;
    case "invalid_format":
      return issue.message.startsWith("Invalid") ? `“${key}” is not written as expected` : `“${key}”: ${issue.message}`;
    case "invalid_union":
      return issue.message.includes("undefined")
        ? `“${key}” is missing`
        : `“${key}” should be a number or a text with a unit`;
    case "invalid_key":
      return `“${key}” cannot be a name here: ${issue.issues[0]?.message ?? "not as expected"}`;
    default:
      return `“${key}”: ${issue.message}`;
  }
}

function notAmong(key: string | number, values: readonly string[], input: unknown): string {
  const written = typeof input === "object" ? "" : `, not “${input}”`;
  if (values.length === 1) return `“${key}” should be ${values[0]}${written}`;
  const close = nearest(String(input), values);
  return `“${key}” should be one of ${values.map((each) => `“${each}”`).join(", ")}${written}${close ? `; did you mean “${close}”?` : ""}`;
}

function syntaxSentence(code: string, message: string): string {
  switch (code) {
    case "BAD_INDENT":
      return "The indentation does not match the lines above (or a bracket or quote before it was never closed)";
    case "DUPLICATE_KEY":
      return "This key stands here twice";
    case "TAB_AS_INDENT":
      return "A tab cannot indent a line of YAML; use spaces";
    case "MISSING_CHAR":
      return `A character is missing: ${message.split(" at line")[0]}`;
    default:
      if (/call stack|recursion/i.test(message)) return "Lists or keys are nested too deeply here";
      return `Not YAML: ${message.split(" at line")[0]}`;
  }
}

/** Keys that the schema allows at a path, with what they mean: for messages and for completion. */
export function keysWithMeaning(
  path: readonly (string | number)[],
): { key: string; about: string; values: readonly string[] }[] {
  const shape = shapeAt(benchSchema, path);
  return Object.entries(shape).map(([key, schema]) => ({
    key,
    about: schema.description ?? unwrap(schema).description ?? "",
    values: valuesOf(schema),
  }));
}

const keysAt = (schema: z.ZodType, path: readonly (string | number)[]): string[] => Object.keys(shapeAt(schema, path));

/** Takes a key whose lines are all commented out (`drive:`) for one that says nothing, not for an error. */
function withoutEmpty(schema: z.ZodType, data: unknown): unknown {
  const def = unwrap(schema).def as { type: string; shape?: Record<string, z.ZodType>; valueType?: z.ZodType };
  if (data === null && (def.shape || def.valueType)) return {};
  if (typeof data !== "object" || data === null || Array.isArray(data) || !(def.shape || def.valueType)) return data;
  return Object.fromEntries(
    Object.entries(data).map(([key, value]) => {
      const inner = def.shape?.[key] ?? def.valueType;
      return [key, inner ? withoutEmpty(inner, value) : value];
    }),
  );
}

const unwrap = (schema: z.ZodType): z.ZodType => {
  const inner =
    (schema.def as { innerType?: z.ZodType; in?: z.ZodType }).innerType ?? (schema.def as { in?: z.ZodType }).in;
  return inner ? unwrap(inner) : schema;
};

function valuesOf(schema: z.ZodType): readonly string[] {
  const def = unwrap(schema).def as { type: string; entries?: Record<string, string>; values?: readonly unknown[] };
  if (def.type === "enum") return Object.values(def.entries ?? {});
  if (def.type === "literal") return (def.values ?? []).map(String);
  if (def.type === "boolean") return ["true", "false"];
  return [];
}

function shapeAt(schema: z.ZodType, path: readonly (string | number)[]): Record<string, z.ZodType> {
  let here = unwrap(schema);
  for (const key of path) {
    const def = here.def as {
      type: string;
      shape?: Record<string, z.ZodType>;
      valueType?: z.ZodType;
      element?: z.ZodType;
    };
    const next = def.shape?.[key] ?? def.valueType ?? def.element;
    if (!next) return {};
    here = unwrap(next);
  }
  return (here.def as { shape?: Record<string, z.ZodType> }).shape ?? {};
}

/** Prints issues as a compiler would: file, line, column, the line itself and a caret under what is meant. */
export function printIssues(name: string, text: string, issues: readonly BenchIssue[]): string {
  const lines = text.split("\n");
  return issues
    .map((issue) => {
      // One character for one, so that the caret stays under what is meant.
      const line = (lines[issue.line - 1] ?? "").replace(/\r$/, "").replace(/./gu, (each) => {
        if (each === "\t") return " ";
        return visible(each) === each ? each : "?";
      });
      const caret =
        " ".repeat(issue.column - 1) + "^".repeat(Math.min(issue.length, Math.max(1, line.length - issue.column + 1)));
      return `${name}:${issue.line}:${issue.column}: ${visible(issue.sentence)}\n    ${line}\n    ${caret}`;
    })
    .join("\n");
}
