import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { asciiBytes } from "../../bytes/index.ts";
import { InputError } from "../../errors/index.ts";
import { readCapture, readCsv, readVcd } from "./index.ts";

const HEAD = `$timescale 10 ns $end
$scope module drive $end
$var wire 1 ! rd $end
$var wire 1 " index $end
$var wire 8 # bus $end
$upscope $end
$enddefinitions $end
$dumpvars 1! 0" b00000000 # $end
`;
/** A low pulse of 10 ticks at each of `ticks`. */
const pulses = (ticks: number[]) => ticks.map((tick) => `#${tick}\n0!\n#${tick + 10}\n1!\n`).join("");
const vcd = (body: string, options = {}) => readVcd(asciiBytes(HEAD + body), options);

describe("readVcd", () => {
  it("takes the beginnings of pulses, in seconds by the time scale", () => {
    const { transitions, notes } = vcd(pulses([100, 300, 600, 1000]));
    expect([...transitions]).toEqual([1e-6, 3e-6, 6e-6, 10e-6].map((time) => expect.closeTo(time, 12)));
    expect(notes[0]).toBe("“rd” is the read line; low pulses: falling edges count");
  });

  it("takes both edges of a line that changes its level at each transition", () => {
    const { transitions } = vcd("#100\n0!\n#300\n1!\n#600\n0!\n#800\n1!\n#1000\n0!\n#1200\n1!\n#1400\n0!\n");
    expect([...transitions].map((time) => Math.round(time * 1e8))).toEqual([100, 300, 600, 800, 1000, 1200, 1400]);
  });

  it("takes the edges that it is told to", () => {
    const body = pulses([100, 300]);
    expect([...vcd(body, { edges: "rising" }).transitions].map((time) => Math.round(time * 1e8))).toEqual([110, 310]);
    expect(vcd(body, { edges: "both" }).transitions).toHaveLength(4);
  });

  it("finds the index by its name and its pulses by the shorter level", () => {
    const { index } = vcd(`#50\n1"\n#90\n0"\n${pulses([100, 300])}#900\n1"\n#940\n0"\n`);
    expect([...index].map((time) => Math.round(time * 1e8))).toEqual([50, 900]);
  });

  it("takes unknown and floating levels, vectors of one bit, and reals", () => {
    const { transitions } = vcd("#10\nx!\n#20\n1!\n#30\nz!\n#40\nb0 !\nr1.5 #\n#50\nB1 !\n#60\n0!\n#70\n1!\n", {
      edges: "both",
    });
    expect([...transitions].map((time) => Math.round(time * 1e8))).toEqual([40, 50, 60, 70]);
  });

  it.each([
    ["no definitions", "hello", /no value change dump/],
    ["a time scale of nothing", "$timescale 3 weeks $end", /time scale/],
    ["time that runs backwards", `${HEAD}#20\n0!\n#10\n1!`, /backwards/],
    ["time that is none", `${HEAD}#soon`, /is no time/],
    ["no changes", HEAD, /nothing to read/],
  ])("says so of %s", (_, text, sentence) => {
    expect(() => readVcd(asciiBytes(text))).toThrow(InputError);
    expect(() => readVcd(asciiBytes(text))).toThrow(sentence);
  });

  it("names the signals where the asked one isn't there", () => {
    expect(() => vcd(pulses([1, 20]), { read: "flux" })).toThrow(
      "There is no signal “flux” for the read line; there are: rd, index.",
    );
  });
});

describe("readCsv", () => {
  const ticks = (text: string, options = {}) =>
    [...readCsv(asciiBytes(text), options).transitions].map((time) => Math.round(time * 1e9));

  it("reads seconds and level, with headings, comments and either end of line", () => {
    expect(ticks("time,level\r\n# sampled\r\n0,1\r\n1e-6,0\r\n1.5e-6,1\r\n5e-6,0\r\n5.5e-6,1\r\n")).toEqual([
      1000, 5000,
    ]);
  });

  it("reads a decimal comma between semicolons, and tabs", () => {
    expect(ticks("0;1\n0,000001;0\n0,000002;1\n", { edges: "both" })).toEqual([1000, 2000]);
    expect(ticks("0\t1\n0.000001\t0\n0.000003\t1\n", { edges: "both" })).toEqual([1000, 3000]);
  });

  it("parts volts half-way, and holds against noise in the middle", () => {
    expect(ticks("0,4.9\n1e-6,0.2\n2e-6,2.6\n3e-6,2.4\n4e-6,4.8\n5e-6,5\n", { edges: "both" })).toEqual([1000, 4000]);
  });

  it("takes a column called index as the index", () => {
    const rows = ["s,read,index", "0,1,0", "1e-6,0,1", "2e-6,1,1", "3e-6,0,0", "4e-6,1,0"];
    const { index, notes } = readCsv(asciiBytes(rows.join("\n")), { edges: "both" });
    expect([...index]).toEqual([1e-6]);
    expect(notes).toContain("“index” is the index");
  });

  it.each([
    ["0,1\n1e-6,zero\n", /Line 2 is “1e-6,zero”/],
    ["0,1\n-1,0\n", /backwards on line 2/],
    ["0,1\n", /fewer than two lines/],
    ["", /fewer than two lines/],
    ["0,1\n1,1\n", /nothing to read/],
    ["5\n6\n", /Line 1/],
  ])("says what is wrong with %j", (text, sentence) => {
    expect(() => readCsv(asciiBytes(text))).toThrow(InputError);
    expect(() => readCsv(asciiBytes(text))).toThrow(sentence);
  });
});

describe("readCapture", () => {
  it("tells the two kinds apart", () => {
    expect(readCapture(asciiBytes(HEAD + pulses([5, 50, 90]))).transitions).toHaveLength(3);
    expect(readCapture(asciiBytes("0,0\n1,1\n2,0\n"), { edges: "both" }).transitions).toHaveLength(2);
  });

  const orSentence = (bytes: Uint8Array) => {
    try {
      const { transitions, index } = readCapture(bytes);
      for (const times of [transitions, index])
        for (let i = 1; i < times.length; i++) expect(times[i]! >= times[i - 1]!).toBe(true);
    } catch (error) {
      expect(error).toBeInstanceOf(InputError);
    }
  };

  it("takes any bytes at all", () => {
    fc.assert(fc.property(fc.uint8Array({ maxLength: 400 }), orSentence), { seed: 21, numRuns: 1500 });
  });

  it("takes dumps and tables with anything in them", () => {
    const words = [
      "$var wire 1 ! a $end",
      "$end",
      "$timescale 1ns $end",
      "$enddefinitions $end",
      "$comment",
      "#5",
      "#9",
      "#",
      "0!",
      "1!",
      "x!",
      "b1 !",
      "b",
      "r2 !",
      "!",
      "$dumpoff",
    ];
    const cells = ["0", "1", "1e-6", "2e-6", "1e999", "NaN", "", ",", ";", "\n", "\n", "#", "-", "time", "\t"];
    fc.assert(
      fc.property(fc.array(fc.constantFrom(...words), { maxLength: 30 }), (list) =>
        orSentence(asciiBytes(`$version ${list.join(" ")}`)),
      ),
      { seed: 22, numRuns: 1500 },
    );
    fc.assert(
      fc.property(fc.array(fc.constantFrom(...words), { maxLength: 30 }), (list) =>
        orSentence(asciiBytes(HEAD + list.join(" "))),
      ),
      { seed: 23, numRuns: 1500 },
    );
    fc.assert(
      fc.property(fc.array(fc.constantFrom(...cells), { maxLength: 40 }), (list) =>
        orSentence(asciiBytes(list.join(""))),
      ),
      { seed: 24, numRuns: 1500 },
    );
  });
});
