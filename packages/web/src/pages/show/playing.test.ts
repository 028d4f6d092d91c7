import { describe, expect, it } from "vitest";
import { askNewest, pacingOf } from "./playing.ts";

describe("asking for the newest", () => {
  it("asks for one thing at a time, passes over what was wanted between, and goes on after a failure", async () => {
    const asked: { wanted: number; tell: (text: string) => void; fail: (error: Error) => void }[] = [];
    const heard: string[] = [];
    const want = askNewest(
      (wanted: number) => new Promise<string>((tell, fail) => asked.push({ wanted, tell, fail })),
      (text) => heard.push(text),
      (error) => heard.push(String(error)),
    );
    const settled = () => new Promise((resolve) => setTimeout(resolve));
    for (const wanted of [1, 2, 3]) want(wanted);
    expect(asked.map((each) => each.wanted)).toEqual([1]);
    asked[0]!.tell("one");
    await settled();
    expect(asked.map((each) => each.wanted)).toEqual([1, 3]);
    want(4);
    asked[1]!.fail(new Error("three"));
    await settled();
    asked[2]!.tell("four");
    await settled();
    want(5);
    expect(asked.map((each) => each.wanted)).toEqual([1, 3, 4, 5]);
    expect(heard).toEqual(["one", "Error: three", "four"]);
  });
});

describe("the pace", () => {
  it("leaves true times alone, and cuts long waits, there and back", () => {
    const odd = [0, 10, 11, 40];
    expect(pacingOf(odd, null).length).toBe(40);
    const cut = pacingOf(odd, 2);
    expect(cut.length).toBe(5);
    expect(cut.played(10)).toBe(2);
    expect(cut.captured(2)).toBe(10);
    expect(cut.captured(1)).toBe(5);
    expect(cut.captured(99)).toBe(40);
    for (const at of [0, 3, 10.5, 25, 40]) expect(cut.captured(cut.played(at))).toBeCloseTo(at, 9);
    expect(pacingOf([], 2).length).toBe(0);
  });
});
