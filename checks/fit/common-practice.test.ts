/**
 * Check values that the trade knows and no document states: common practice, no source.
 */
import { readBench } from "@rouse/core/bench";
import { loadCatalogue } from "@rouse/core/catalogue";
import { type Finding, fitChain, type SurveyedImage, surveyForFit } from "@rouse/core/fit";
import type { Need } from "@rouse/core/system";
import { buildChainedBlock } from "@rouse/core/volume";
import { describe, expect, it } from "vitest";

const catalogue = loadCatalogue();

function finding(id: string, text: string, images: readonly SurveyedImage[] = []): Finding {
  const { bench, issues } = readBench(`rouse: 1\nname: x\n${text}`, catalogue);
  if (!bench) throw new Error(issues.map((each) => each.sentence).join("; "));
  const found = fitChain({ bench, catalogue, images }).findings.find((each) => each.id === id);
  if (!found) throw new Error(`no finding ${id}`);
  return found;
}

describe("memory", () => {
  const banked = (main: string) =>
    `computer: { memory: { ${main} window: { kind: window, at: $9000, size: 4 KiB, banks: 16, latch: { at: $FF00, bits: 4 } } } }`;

  it("makes sixteen banks of 4 KiB 64 KiB", () => {
    expect(finding("memory-map", banked("")).result).toBe("64 KiB of memory");
    expect(finding("memory-banks/window", banked("")).sentence).toContain("64 KiB in all");
  });

  it("makes them 96 KiB with 32 KiB of main memory", () => {
    expect(finding("memory-map", banked("main: { kind: ram, at: $0000, size: 32 KiB },")).result).toBe(
      "96 KiB of memory",
    );
  });

  it("lets 16 bits see 64 KiB, $0000 to $FFFF, and no more", () => {
    expect(
      finding("memory-map", "computer: { memory: { all: { kind: ram, at: $0000, size: 64 KiB } } }").sentence,
    ).toContain("nothing is left open");
    expect(
      finding("memory-map", "computer: { memory: { low: { kind: ram, at: $0000, size: 32 KiB } } }").sentence,
    ).toContain("$8000–$FFFF");
    const { issues } = readBench(
      "rouse: 1\nname: x\ncomputer: { memory: { all: { kind: ram, at: $0001, size: 64 KiB } } }",
      catalogue,
    );
    expect(issues[0]!.sentence).toContain("$FFFF");
  });
});

describe("line", () => {
  const ends = (rate: string) =>
    `ports: { p: { uart: MC6850, clock: 1.8432 MHz, divide: 96, ratio: 16, format: 8N1, connector: DB-25, role: DTE } }\nterminals: { t: { rate: ${rate}, format: 8N1, connector: DB-25, role: DTE } }\ncables: { c: { from: p, to: t, kind: null modem } }`;

  it("wants both ends at the same rate: 1,200 bit/s on one, 1,200 bit/s on the other", () => {
    expect(finding("port-rate/p", ends("1200 bit/s")).verdict).toBe("runs");
    for (const other of ["300 bit/s", "600 bit/s", "2400 bit/s"])
      expect(finding("port-rate/p", ends(other)).verdict).toBe("stops");
  });
});

describe("screen", () => {
  it("wraps a line of 80 characters into four rows on 22 columns", () => {
    const need: Need = {
      kind: "screen",
      columns: 80,
      widths: [{ columns: 80, lines: 1 }],
      evidence: [{ file: "readme", offset: 0, text: "a line" }],
    };
    const image: SurveyedImage = { name: "i", size: 0, needs: [need] };
    const found = finding("terminal-width/t", "terminals: { t: { class: screen-22-upper } }", [image]);
    expect(found).toMatchObject({ verdict: "tight", result: "4 rows for the longest line" });
  });
});

describe("disk", () => {
  const zoned = (drive: string) =>
    `drives: { d: { class: ${drive} } }\nimages: { i: { file: images/i, drive: d, recording: zoned-77-two-side } }`;

  it("finds that a two-sided image does not fit a one-sided drive", () => {
    expect(finding("drive-sides/i", zoned("zoned-77-track-one-side")).verdict).toBe("stops");
    expect(finding("drive-sides/i", zoned("zoned-77-track-two-side")).verdict).toBe("runs");
  });

  it("finds that a system with record files fails on storage that lacks them", () => {
    const records = new Uint8Array(100 * 60).fill(65);
    const bytes = buildChainedBlock(
      [{ path: "ACCOUNTS", type: "file", bytes: records, wishes: { kind: "records", recordLength: 100 } }],
      { layout: "35-track", name: "DATA", id: "DA" },
    );
    const image = surveyForFit("i", bytes);
    const drive = (kinds: string) =>
      `drives: { d: { class: zoned-35-track, fileKinds: [${kinds}] } }\nimages: { i: { file: images/i, drive: d, recording: zoned-35 } }`;
    expect(finding("system-files/i", drive("sequential, program"), [image])).toMatchObject({ verdict: "stops" });
    expect(finding("system-files/i", drive("sequential, program, records"), [image])).toMatchObject({
      verdict: "runs",
    });
  });
});
