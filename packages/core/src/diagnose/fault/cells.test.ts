import { describe, expect, it } from "vitest";
import { type CellFault, cellOf, faultyWords } from "./cells.ts";

/** Two words; a line a step: `w0=FF` writes, `r0` reads. Gives what the reads gave. */
function run(fault: CellFault, steps: string, memory = new Uint8Array(4)): string {
  const words = faultyWords(fault, memory);
  const got: string[] = [];
  let clock = 0;
  let before = 0;
  for (const step of steps.split(" ")) {
    const [, kind, word, value] = /^([rw.])(\d+)(?:=([0-9A-F]+))?$/.exec(step)!;
    clock++;
    if (kind === ".") clock += Number(word);
    else if (kind === "w") words.write(Number(word), Number.parseInt(value!, 16), clock);
    else {
      before = words.read(Number(word), clock, before);
      got.push(before.toString(16).toUpperCase().padStart(2, "0"));
    }
  }
  return got.join(" ");
}

const [A, B] = [cellOf(0, 3), cellOf(1, 3)];

describe("a faulty cell", () => {
  it.each<[string, CellFault, string, string]>([
    ["stuck at 1", { kind: "stuck", cell: A, value: 1 }, "r0 w0=00 r0 w0=FF r0", "08 08 FF"],
    ["stuck at 0", { kind: "stuck", cell: A, value: 0 }, "w0=FF r0", "F7"],
    ["cannot rise", { kind: "transition", cell: A, to: 1 }, "w0=FF r0 w0=00 r0", "F7 00"],
    ["cannot fall", { kind: "transition", cell: A, to: 0 }, "w0=FF r0 w0=00 r0", "FF 08"],
    ["cannot be reached", { kind: "open", cell: A }, "w0=FF w1=00 r1 r0 w1=FF r1 r0", "00 F7 FF FF"],
    ["leaks to 1", { kind: "leak", cell: A, rest: 1, hold: 10 }, "w0=00 .5 r0 .8 r0 .20 r0 w0=00 r0", "00 00 08 00"],
    [
      "turns its victim over",
      { kind: "inversion", aggressor: A, edge: 1, victim: B },
      "w0=08 r1 w0=08 r1 w0=00 w0=08 r1",
      "08 08 00",
    ],
    [
      "sets its victim",
      { kind: "idempotent", aggressor: A, edge: 0, victim: B, value: 1 },
      "w0=08 r1 w0=00 r1 w1=00 r1",
      "00 08 00",
    ],
    [
      "holds its victim",
      { kind: "state", aggressor: A, level: 1, victim: B, value: 0 },
      "w0=08 w1=FF r1 w0=00 r1 w1=FF r1",
      "F7 F7 FF",
    ],
    ["joined, AND", { kind: "bridge", cells: [A, B], wired: "and" }, "w0=FF r0 w1=FF r0 r1 w0=00 r1", "F7 FF FF F7"],
    ["joined, OR", { kind: "bridge", cells: [A, B], wired: "or" }, "w0=FF r1 w1=00 r1", "08 08"],
  ])("%s", (_, fault, steps, expected) => {
    expect(run(fault, steps)).toBe(expected);
  });

  it("couples within a word after all its bits are written", () => {
    expect(
      run(
        { kind: "idempotent", aggressor: cellOf(0, 0), edge: 1, victim: cellOf(0, 1), value: 0 },
        "w0=03 r0 w0=03 r0",
      ),
    ).toBe("01 03");
  });

  it("keeps a state that does not fit from the start on", () => {
    expect(run({ kind: "state", aggressor: A, level: 0, victim: B, value: 1 }, "r1")).toBe("08");
  });
});

describe("a faulty decoder", () => {
  const decoder = (
    routes: [number, number[]][],
    wired: "and" | "or" = "and",
    floats: 0 | 1 = 1,
    bits = 0xff,
  ): CellFault => ({
    kind: "decoder",
    routes: routes.map(([address, words]) => ({ address, words })),
    bits,
    wired,
    floats,
  });

  it("reads an open line where no word answers, and loses what is written", () => {
    expect(run(decoder([[0, []]]), "w0=00 r0")).toBe("FF");
    expect(run(decoder([[0, []]], "and", 0), "w0=AA r0")).toBe("00");
  });

  it("goes to another word instead, or to both", () => {
    expect(run(decoder([[0, [1]]]), "w1=11 w0=22 r1 r0")).toBe("22 22");
    expect(run(decoder([[0, [0, 1]]]), "w0=F0 w1=33 r0 r1")).toBe("30 33");
    expect(run(decoder([[0, [0, 1]]], "or"), "w0=F0 w1=33 r0 r1")).toBe("F3 33");
  });

  it("touches only the bits of its chip", () => {
    expect(run(decoder([[0, [1]]], "and", 1, 0x08), "w1=00 w0=FF r0 r1")).toBe("FF 08");
  });
});
