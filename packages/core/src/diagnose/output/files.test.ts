import { describe, expect, it } from "vitest";
import { fromIntelHex, fromSRecord, rawImage } from "../../bytes/index.ts";
import { makeProgram } from "../index.ts";
import { smallBench } from "../run/small-bench.ts";
import { epromImage } from "./eprom.ts";
import { programFiles } from "./files.ts";

const bench = smallBench("6809");
const program = makeProgram(bench, { tests: ["mats"], over: ["main"] });
const loaded = makeProgram(smallBench("Z80", [["at: $8000, size: 1 KiB", "at: $8000, size: 4 KiB"]]), {
  tests: ["mats"],
  over: ["main"],
  place: "memory",
  at: 0x8400,
});
const content = (files: readonly { name: string; content: string | Uint8Array }[], name: string) =>
  files.find((each) => each.name === name)!.content;

describe("programFiles", () => {
  it("has the same bytes in every form", () => {
    const files = programFiles(bench, program, "t");
    expect(files.map(({ name }) => name)).toEqual(["t.asm", "t.lst", "t.srec", "t.hex", "t.rom"]);
    const wanted = { segments: [...program.segments], start: program.entry };
    expect(fromSRecord(content(files, "t.srec") as string)).toEqual(wanted);
    expect(fromIntelHex(content(files, "t.hex") as string)).toEqual(wanted);
    expect(content(files, "t.rom")).toEqual(rawImage(program.segments, { from: 0xe000, to: 0x1_0000 }));
    // A line of the listing: address, bytes, cycles, line, source.
    expect(content(files, "t.lst")).toMatch(/^E000 {2}1A 50 +3 +\d+ {2}start +orcc #\$50/m);
  });

  it("fills a larger EPROM with copies, and refuses what cannot hold the program", () => {
    const small = epromImage(bench, program).image;
    const { image } = epromImage(bench, program, 0x4000);
    expect(image.subarray(0, 0x2000)).toEqual(small);
    expect(image.subarray(0x2000)).toEqual(small);
    expect(() => epromImage(bench, program, 0x400)).toThrow("does not fit an EPROM of 1024 bytes");
    expect(() => epromImage(bench, program, 3000)).toThrow("no size of an EPROM");
    expect(() => epromImage(bench, loaded)).toThrow("loaded into memory");
  });

  it("lies at the end of a smaller EPROM, with the vectors", () => {
    const tight = makeProgram(bench, { tests: ["mats"], over: ["main"], eprom: 0x800 });
    expect(tight.origin).toBe(0xf800);
    const { image } = epromImage(bench, tight, 0x800);
    expect(image).toEqual(rawImage(tight.segments, { from: 0xf800, to: 0x1_0000 }));
    expect(tight.notes.join(" ")).toContain("only if its own pins are wired alike");
  });

  it("can be typed into a monitor: each line with its address and the sum of its bytes", () => {
    const text = content(programFiles(bench, loaded, "t", { typeIn: "hex" }), "t-hex.txt") as string;
    const bytes: number[] = [];
    for (const line of text.trimEnd().split("\n")) {
      const [, address, shown, sum] = /^([0-9A-F]{4}) {2}((?:[0-9A-F]{2} ?)+) *\| ([0-9A-F]{2})$/.exec(line)!;
      expect(Number.parseInt(address!, 16)).toBe(0x8400 + bytes.length);
      const row = shown!
        .trim()
        .split(" ")
        .map((each) => Number.parseInt(each, 16));
      expect(row.reduce((total, each) => total + each, 0) & 0xff).toBe(Number.parseInt(sum!, 16));
      bytes.push(...row);
    }
    expect(Uint8Array.from(bytes)).toEqual(loaded.segments[0]!.bytes);
  });

  it("can be typed as numbered DATA lines, whose last number is their sum", () => {
    const text = content(programFiles(bench, loaded, "t", { typeIn: "data" }), "t-data.txt") as string;
    const lines = text.trimEnd().split("\n");
    const numbers = lines.map((line) => Number(line.split(" ")[0]));
    expect(numbers).toEqual([...numbers].sort((a, b) => a - b));
    const data = lines
      .filter((line) => / DATA /.test(line))
      .map((line) => line.split(" DATA ")[1]!.split(",").map(Number));
    expect(lines[0]).toContain(`${data.length} LINES OF 8 BYTES`);
    for (const row of data) expect(row.slice(0, 8).reduce((sum, byte) => sum + byte, 0)).toBe(row[8]);
    const bytes = data.flatMap((row) => row.slice(0, 8));
    expect(bytes.slice(0, loaded.segments[0]!.bytes.length)).toEqual([...loaded.segments[0]!.bytes]);
    expect(lines[1]).toBe(`20 LET A=${0x8400}`);
  });
});
