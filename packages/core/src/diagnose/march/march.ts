import { InputError } from "../../errors/index.ts";
import type { Direction, March, MarchElement } from "./types.ts";

const ARROWS: Readonly<Record<string, Direction>> = { "⇑": "up", "⇓": "down", "⇕": "either" };
const SIGNS: Readonly<Record<Direction, string>> = { up: "⇑", down: "⇓", either: "⇕" };
const DELAY = "Del";

/**
 * Reads elements in the notation of the literature: `⇕(w0);⇑(r0,w1);Del;⇓(r1,w0)`. Throws an `InputError` for anything else,
 * also for a read of a value that no cell can hold there.
 */
export function parseMarch(text: string): MarchElement[] {
  const elements: MarchElement[] = [];
  let delay = false;
  let held: number | undefined;
  for (const part of text.split(";").map((each) => each.trim())) {
    if (part === DELAY) {
      delay = true;
      continue;
    }
    const [, arrow, inside] = /^([\u21d1\u21d3\u21d5])\s*\(([^()]*)\)$/.exec(part) ?? [];
    if (arrow === undefined || inside === undefined) throw wrong(part, "an element such as ⇑(r0,w1)");
    const operations = inside.split(",").map((each): MarchElement["operations"][number] => {
      const [, kind, digit] = /^\s*([rw])([01])\s*$/.exec(each) ?? [];
      if (kind === undefined) throw wrong(each, "r0, r1, w0 or w1");
      const value = digit === "1" ? 1 : 0;
      if (kind === "r" && held !== value)
        throw wrong(each, held === undefined ? "a write before the first read" : `r${held}: every cell holds ${held}`);
      held = value;
      return { kind: kind === "r" ? "read" : "write", value };
    });
    elements.push({ direction: ARROWS[arrow]!, operations, ...(delay ? { delay } : {}) });
    delay = false;
  }
  if (delay) throw wrong(DELAY, "an element behind it");
  return elements;
}

const wrong = (found: string, expected: string) =>
  new InputError("bad-march", `“${found.trim()}” is no part of a march here; expected ${expected}.`);

/** An element as it is written: `⇑(r0,w1)`. */
export function elementText({ direction, operations, delay }: MarchElement): string {
  const inside = operations.map(({ kind, value }) => `${kind === "read" ? "r" : "w"}${value}`).join(",");
  return `${delay ? `${DELAY};` : ""}${SIGNS[direction]}(${inside})`;
}

/** All elements as they are written. */
export const marchText = (elements: readonly MarchElement[]): string => elements.map(elementText).join(";");

function march(id: string, title: string, text: string, source: string): March {
  const elements = parseMarch(text);
  return { id, title, elements, source, length: elements.reduce((sum, each) => sum + each.operations.length, 0) };
}

const GOOR = "van de Goor, Testing Semiconductor Memories, 1991 (from memory)";

/** Marches that are known by name, the shortest first. Which classes each detects is in docs/fault-coverage.md. */
export const MARCHES: readonly March[] = [
  march("mats", "MATS", "⇕(w0);⇕(r0,w1);⇕(r1)", GOOR),
  march("mats+", "MATS+", "⇕(w0);⇑(r0,w1);⇓(r1,w0)", GOOR),
  march("mats++", "MATS++", "⇕(w0);⇑(r0,w1);⇓(r1,w0,r0)", GOOR),
  march("march-x", "March X", "⇕(w0);⇑(r0,w1);⇓(r1,w0);⇕(r0)", GOOR),
  march("march-y", "March Y", "⇕(w0);⇑(r0,w1,r1);⇓(r1,w0,r0);⇕(r0)", GOOR),
  march("march-c-", "March C−", "⇕(w0);⇑(r0,w1);⇑(r1,w0);⇓(r0,w1);⇓(r1,w0);⇕(r0)", GOOR),
  march("march-a", "March A", "⇕(w0);⇑(r0,w1,w0,w1);⇑(r1,w0,w1);⇓(r1,w0,w1,w0);⇓(r0,w1,w0)", GOOR),
  march("march-b", "March B", "⇕(w0);⇑(r0,w1,r1,w0,r0,w1);⇑(r1,w0,w1);⇓(r1,w0,w1,w0);⇓(r0,w1,w0)", GOOR),
  march(
    "march-g",
    "March G",
    "⇕(w0);⇑(r0,w1,r1,w0,r0,w1);⇑(r1,w0,w1);⇓(r1,w0,w1,w0);⇓(r0,w1,w0);Del;⇕(r0,w1,r1);Del;⇕(r1,w0,r0)",
    GOOR,
  ),
];

/** Each value held through a delay: what a cell that leaks, or a row that is not refreshed, cannot do. */
export const RETENTION: March = march(
  "retention",
  "Retention",
  "⇕(w0);Del;⇕(r0,w1);Del;⇕(r1)",
  "the delays of March G; common practice, no source",
);

/** A march by its id. Throws an `InputError` naming all where there is none. */
export function marchOf(id: string): March {
  const found = MARCHES.find((each) => each.id === id);
  if (found) return found;
  throw new InputError("no-march", `“${id}” is no march; there is ${MARCHES.map((each) => each.id).join(", ")}.`);
}

/** Bytes that stand for 0 so that the bits of a byte are told apart, log₂ 8 + 1 of them (from memory). */
export const BACKGROUNDS: readonly number[] = [0x00, 0x55, 0x33, 0x0f];
