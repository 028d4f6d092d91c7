import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { verb as boards } from "./boards.ts";
import { verb as memory } from "./memory.ts";
import type { Verb } from "./verb.ts";

let folder: string;

async function run(verb: Verb, positionals: readonly string[], values: Record<string, unknown> = {}) {
  const lines: string[] = [];
  const out = { line: (text = "") => lines.push(text), width: 100, colour: false };
  const code = await verb.run({ positionals: [folder, ...positionals], values }, out);
  return { code, text: lines.join("\n") };
}

const BENCH = `rouse: 1
name: a small bench
computer:
  mains: inside
  cpu: { part: MC6809E, clock: 1 MHz }
  memory:
    main: { kind: ram, at: $0000, size: 32 KiB, chips: 62256, board: main board, places: [U7], select: not A15 }
    window: { kind: window, at: $8000, size: 8 KiB, banks: 4, latch: { at: $FF00, bits: 2 } }
    monitor: { kind: rom, at: $E000, size: 8 KiB, under: true }
    ports: { kind: io, at: $FF00, size: 256 bytes }
  paths:
    main: { region: main, through: [{ part: 74LS189, board: new board }, { part: 74LS138 }], access: 200 ns }
  boards:
    main board: { chips: [{ part: 74LS244, count: 2 }], lines: { A15..A0: { loads: { 74LS244: 1 } } } }
    new board:
      added: true
      chips: [{ part: 74LS138, place: U3 }]
      socket: { place: U1, pins: 40, pin1: at the notch }
      removes: [{ part: MC6809E, place: U1, goes: onto the new board }]
  supply: { +5 V: { limit: 1 A } }
`;

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "rouse-memory-"));
  writeFileSync(join(folder, "bench.yaml"), BENCH);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe("rouse memory", () => {
  it("prints the map of one state, and what holds in all of them", async () => {
    const { code, text } = await run(memory, [], { state: "window=3" });
    expect(code).toBe(0);
    expect(text).toContain("What the CPU sees with window=3");
    expect(text).toMatch(/\$8000–\$9FFF +8 KiB +window, window, bank 3/);
    expect(text).toContain("Over all 4 states of the latches: no two drive the bus at once.");
    expect(text).toContain("Longest run of memory: 40 KiB from $0000.");
    expect(text).toContain("Nothing ever answers $A000–$DFFF.");
    expect(text).toContain("proved equal (16 inputs, every combination)");
  });

  it("says which chip answers an address, and what lies under it", async () => {
    const main = await run(memory, ["$1234"]);
    expect(main.text).toContain("read and write: main (ram), main board, byte 4660 of it");
    expect(main.text).toMatch(/bits 0, 1, 2, 3, 4, 5, 6, 7 +62256 +U7/);
    expect((await run(memory, ["0xFF00"])).text).toContain("lies over: monitor");
    expect((await run(memory, ["$C000"])).text).toContain("read: nothing answers");
  });

  it("lists what every other state shows, and what a write sets", async () => {
    const { text } = await run(memory, [], { states: true });
    expect(text).toMatch(/ {2}window=3\n {4}\$8000–\$9FFF +8 KiB +window, window, bank 3/);
    expect((await run(memory, ["$FF00"])).text).toContain("a write sets latch window, 2 bits");
  });

  it("says where the system on an image would lie, and how many logins that leaves room for", async () => {
    const lines: string[] = [];
    const out = { line: (text = "") => lines.push(text), width: 100, colour: false };
    expect(await memory.run({ positionals: ["demo/mended"], values: {} }, out)).toBe(0);
    const text = lines.join("\n");
    expect(text).toMatch(/Where the system on tern would lie\n {2}\$0000–\$11FF +4,608 bytes +boot file boot/);
    expect(text.replace(/\s+/g, " ")).toMatch(
      /Of 112 KiB fitted .* are left for users' programs: \d+ logins at 4 KiB each/,
    );
  });

  it("says where two forms of a select differ, and ends with 1", async () => {
    writeFileSync(
      join(folder, "bench.yaml"),
      BENCH.replace("select: not A15", "select: [not A15, not A15 and (A14 or not A13 or window.1)]"),
    );
    const { code, text } = await run(memory, []);
    writeFileSync(join(folder, "bench.yaml"), BENCH);
    expect(code).toBe(1);
    expect(text.replace(/\s+/g, " ")).toContain(
      "differ first at $2000, window.1 = 0: the first is on there, the other off.",
    );
  });

  it("prints mirrors that follow each other as one stretch", async () => {
    writeFileSync(join(folder, "bench.yaml"), BENCH.replace("size: 256 bytes }", "size: 2 bytes, decode: A15..A8 }"));
    const { text } = await run(memory, []);
    writeFileSync(join(folder, "bench.yaml"), BENCH);
    expect(text).toMatch(
      /\$FF00–\$FF01 +2 bytes +ports, io, over monitor\n +\$FF02–\$FFFF +254 bytes +ports, io, mirror, over monitor/,
    );
  });

  it("prints a picture for machines", async () => {
    const { text } = await run(memory, ["$8001"], { json: true, state: "window=2" });
    const printed = JSON.parse(text);
    expect(printed).toMatchObject({
      format: "rouse-memory",
      version: 1,
      answer: { read: { bank: 2, offset: 0x4001 } },
      picture: { latches: [{ name: "window", value: 2 }] },
    });
    expect(printed.picture.lines).toContainEqual({
      from: 0x8000,
      to: 0x9fff,
      part: "window",
      first: 0x4000,
      last: 0x5fff,
      access: "both",
    });
  });

  it("ends with 1 where two parts drive the bus at once", async () => {
    writeFileSync(join(folder, "bench.yaml"), BENCH.replace("size: 8 KiB, under: true", "size: 8 KiB"));
    const { code, text } = await run(memory, []);
    writeFileSync(join(folder, "bench.yaml"), BENCH);
    expect(code).toBe(1);
    expect(text).toContain("ports and monitor clash at $FF00–$FFFF (always)");
  });

  it("takes an address by itself as one of the job here", async () => {
    const here = process.cwd();
    try {
      process.chdir(folder);
      const lines: string[] = [];
      const out = { line: (text = "") => lines.push(text), width: 100, colour: false };
      expect(await memory.run({ positionals: ["$1234"], values: {} }, out)).toBe(0);
      expect(lines.join("\n")).toContain("byte 4660 of it");
    } finally {
      process.chdir(here);
    }
  });

  it("refuses addresses and states that there are not", async () => {
    for (const nothing of ["", "1e3", "$", "0b11"])
      await expect(run(memory, [nothing])).rejects.toThrow("is not an address");
    await expect(run(memory, [], { state: "window=" })).rejects.toThrow("“” is no value of window");
    await expect(run(memory, [], { state: "window=$3z" })).rejects.toThrow("is no value of window");
    await expect(run(memory, ["$10000"])).rejects.toThrow("beyond $FFFF");
    await expect(run(memory, ["high"])).rejects.toThrow("is not an address");
    await expect(run(memory, [], { state: "window=4" })).rejects.toThrow("it has 2 bits");
  });
});

describe("rouse boards", () => {
  it("prints supply, bus lines, reads as bars, parts and the way back", async () => {
    const { code, text } = await run(boards, []);
    expect(code).toBe(0);
    expect(text).toMatch(/main board +2 × 74LS244 +54 mA +108 mA/);
    expect(text).toMatch(/A15\.\.A0 +MC6809E +20 µA of 145 µA +200 µA of 2 mA/);
    // 695 − 80 − 41 − 200 = 374 ns (MC6809E data sheet; catalogue).
    expect(text).toContain("● 374 ns left");
    expect(text).toMatch(/reserve to keep +200 mA/);
    expect(text).toMatch(/74LS189 \(added\) +80 ns +280 ns +█/);
    expect(text).toMatch(/1 +74LS138 +3-to-8 decoder +U3/);
    expect(text).toContain("Put MC6809E back at U1");
    expect(text.indexOf("Caution, mains inside the case")).toBeLessThan(text.indexOf("Fitting new board"));
  });

  it("prints the same for machines", async () => {
    const printed = JSON.parse((await run(boards, [], { json: true })).text);
    expect(printed).toMatchObject({
      format: "rouse-boards",
      version: 1,
      supply: [{ rail: "+5 V", max: 0.118 }],
      lines: [{ title: "A15..A0", driver: "MC6809E" }],
      fitting: [{ board: "new board", missing: [] }],
    });
    expect(printed.reads[0].margin * 1e9).toBeCloseTo(374, 6);
  });

  it("prints what feeds a rail, and what is lost on the way to a board", async () => {
    const supply = `{ voltage: 5 V ± 5 %, limit: 1 A, regulator: { part: "7805", input: 9 V, heatSink: 10 °C/W, ambient: 40 °C },
      unregulated: { secondary: 8 V, rectifier: centre tap, filter: 10000 µF, frequency: 50 Hz } }`;
    writeFileSync(
      join(folder, "bench.yaml"),
      BENCH.replace("{ limit: 1 A }", supply).replace(
        "socket: {",
        "draws: { +5 V: 882 mA }\n      feed: { resistance: 0.1 Ω }\n      socket: {",
      ),
    );
    const { text } = await run(boards, []);
    writeFileSync(join(folder, "bench.yaml"), BENCH);
    // 108 + 882 = 990 mA; (9 − 5) × 0.99 = 3.96 W × 15.5 °C/W + 40 °C, as the 7805's 102 °C at 1 A.
    expect(text).toMatch(/regulator 7805 +4 V × greatest current = 3\.96 W +101 °C at the junction of 125 °C/);
    // 8 × 0.9 × √2 − 1; 0.99 A for 10 ms out of 10,000 µF.
    expect(text).toMatch(/ripple at low mains +peak 9\.18 V, ripple 990 mV +lowest 8\.19 V, 7 V needed/);
    expect(text).toMatch(
      /way to new board +0\.1 Ω there and back: 88\.2 mV lost +4\.91 V at the board, 4\.75 V needed/,
    );
  });

  it("ends with 1 where a read comes too late", async () => {
    writeFileSync(join(folder, "bench.yaml"), BENCH.replace("access: 200 ns", "access: 650 ns"));
    const { code, text } = await run(boards, []);
    writeFileSync(join(folder, "bench.yaml"), BENCH);
    expect(code).toBe(1);
    expect(text).toContain("■ −76 ns left");
  });

  it("asks for what is not described", async () => {
    writeFileSync(join(folder, "bench.yaml"), "rouse: 1\nname: x\n");
    await expect(run(boards, [])).rejects.toThrow("computer.boards");
    await expect(run(memory, [])).rejects.toThrow("computer.memory");
    writeFileSync(join(folder, "bench.yaml"), BENCH);
  });
});
