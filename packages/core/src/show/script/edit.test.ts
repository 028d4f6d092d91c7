import { readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { draftOf, editScript, NEW_SCRIPT, readScript, SCENE_KEYS, type ScriptEdit } from "./index.ts";

const demo = readFileSync(new URL("../../../../../demo/mended/show.yaml", import.meta.url), "utf8");
const many = (text: string, ...edits: ScriptEdit[]): string => edits.reduce(editScript, text);

describe("a script edited by its fields", () => {
  it("keeps its comments and everything that was not touched", () => {
    const before = readScript(demo);
    const after = editScript(demo, { scene: 1, key: "expect", value: "name: " });
    expect(after).toContain("# The show of the open day");
    const read = readScript(after);
    expect(read.scenes[1]).toMatchObject({ name: "The start", expect: "name: " });
    expect({ ...read, scenes: read.scenes.toSpliced(1, 1) }).toEqual({
      ...before,
      scenes: before.scenes.toSpliced(1, 1),
    });
  });

  it("adds, moves and removes scenes, and takes out what is emptied", () => {
    const names = (text: string) => readScript(text).scenes.map((each) => each.name);
    const [first, second, ...rest] = names(demo);
    expect(names(many(demo, { add: 1 }))).toEqual([first, "A new scene", second, ...rest]);
    expect(names(many(demo, { move: 0, to: 1 }))).toEqual([second, first, ...rest]);
    expect(names(many(demo, { remove: 0 }))).toEqual([second, ...rest]);
    expect(readScript(many(demo, { top: "ends", value: "" })).ends).toBeUndefined();
    expect(readScript(many(demo, { top: "ends", value: "16:05" })).ends).toBe(16 * 3600 + 300);
    expect(readScript(many(NEW_SCRIPT, { scene: 0, key: "prints", value: "40" })).scenes[0]?.prints).toBe(40);
    expect(names(many("show: 1\ntitle: x\n", { add: 0 }))).toEqual(["A new scene"]);
  });

  it("gives every text back that was put in, whatever it looks like", () => {
    const text = fc
      .string({ minLength: 1, maxLength: 40, unit: "binary" })
      .filter((each) => !/[\ud800-\udfff\u0000-\u001f\u007f-\u009f\u2028\u2029\ufeff\ufffe\uffff]/.test(each));
    fc.assert(
      fc.property(text, fc.constantFrom("name", "say", "expect", "type"), (value, key) => {
        const written = editScript(demo, { scene: 2, key, value });
        expect(draftOf(written)?.scenes[2]?.[key]).toBe(value);
      }),
      { seed: 6, numRuns: 60 },
    );
    const lines = "One line.\nAnother: with # and - in it.\n";
    expect(draftOf(editScript(demo, { scene: 0, key: "say", value: lines }))?.scenes[0]?.say).toBe(lines);
  });

  it("is shown as far as it can be read, and left alone where it is no YAML", () => {
    expect(draftOf("a: [")).toBeUndefined();
    expect(draftOf("- a")).toBeUndefined();
    expect(draftOf("scenes: 3")).toBeUndefined();
    expect(draftOf("title: 7\nscenes: [3, {name: a, say: [x]}]")).toEqual({
      top: { title: "7" },
      scenes: [{}, { name: "a" }],
    });
    expect(() => editScript("a: [", { add: 0 })).toThrow(/cannot|can be changed/);
    expect(
      Object.keys(draftOf(demo)!.scenes[1]!).every((each) => (SCENE_KEYS as readonly string[]).includes(each)),
    ).toBe(true);
  });
});
