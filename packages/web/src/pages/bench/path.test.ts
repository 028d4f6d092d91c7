import { describe, expect, it } from "vitest";
import { cursorAt } from "./path.ts";

/** The cursor stands at the bar. */
const at = (text: string) => {
  const { from, ...rest } = cursorAt(text.replace("|", ""), text.indexOf("|"));
  return { ...rest, written: text.slice(from, text.indexOf("|")) };
};

describe("cursorAt", () => {
  it("finds the keys above by their indentation", () => {
    expect(at("computer:\n  cpu:\n    cl|")).toEqual({ path: ["computer", "cpu"], written: "cl" });
    expect(at("computer:\n  cpu: { part: Z80 }\n  mem|")).toEqual({ path: ["computer"], written: "mem" });
    expect(at("ports:\n  console:\n    uart: MC6850\n\n    # a remark\n    ha|")).toEqual({
      path: ["ports", "console"],
      written: "ha",
    });
    expect(at("name: x\nsh|")).toEqual({ path: [], written: "sh" });
  });

  it("tells the key whose value is written", () => {
    expect(at("ports:\n  console:\n    handshake: no|")).toEqual({
      path: ["ports", "console"],
      key: "handshake",
      written: "no",
    });
    expect(at("ports:\n  console:\n    handshake: |")).toEqual({
      path: ["ports", "console"],
      key: "handshake",
      written: "",
    });
  });

  it("looks into a flow map of the same line", () => {
    expect(at("cables:\n  lead: { kind: straight, fr|")).toEqual({ path: ["cables", "lead"], written: "fr" });
    expect(at("cables:\n  lead: { kind: null m|")).toEqual({
      path: ["cables", "lead"],
      key: "kind",
      written: "null m",
    });
    expect(at("computer:\n  memory:\n    window:\n      latch: { at: $FF7F, bi|")).toEqual({
      path: ["computer", "memory", "window", "latch"],
      written: "bi",
    });
  });

  it("counts an item of a list as a step", () => {
    expect(at("computer:\n  boards:\n    main board:\n      chips:\n        - { part: 74|")).toEqual({
      path: ["computer", "boards", "main board", "chips", 0],
      key: "part",
      written: "74",
    });
    expect(at("computer:\n  boards:\n    main board:\n      chips:\n        - pa|")).toEqual({
      path: ["computer", "boards", "main board", "chips", 0],
      written: "pa",
    });
  });

  it("takes any text and any place in it", () => {
    const text = 'a:\n - {b: [c, d}\n  - - e\n\t:\n"x: {{{\n: :\n- ';
    for (let position = 0; position <= text.length; position++) {
      const { from } = cursorAt(text, position);
      expect(from).toBeLessThanOrEqual(position);
    }
  });
});
