import { describe, expect, it } from "vitest";
import { asciiBytes } from "../bytes/index.ts";
import { bootFile, code, handVolume, terminal, together } from "./hand-made.ts";
import { needsOf } from "./needs.ts";
import type { Need } from "./needs-types.ts";
import { inspectSystem } from "./survey-system.ts";

type Kind<K extends Need["kind"]> = Extract<Need, { kind: K }>;

const needs = (volume: ReturnType<typeof handVolume>): Need[] => needsOf(inspectSystem(volume), volume);
const only = <K extends Need["kind"]>(all: readonly Need[], kind: K): Kind<K>[] =>
  all.filter((each): each is Kind<K> => each.kind === kind);

const boot = bootFile();
const pages = (bytes: number): number => Math.ceil(bytes / 256) * 256;

describe("needsOf a segment-list system", () => {
  const all = needs(
    handVolume("segment-list", {
      boot,
      startup: asciiBytes("clock\r"),
      clock: code("clock", { storage: 600 }),
      notes: asciiBytes(`short\r${"w".repeat(79)}\r\x1b[2J\x1b[5;10Hhere\r`),
    }),
  );

  it("asks for the CPU that its modules are coded for, with the places", () => {
    expect(only(all, "cpu")).toMatchObject([
      {
        instructionSet: "6809",
        evidence: expect.arrayContaining([
          { file: "boot", offset: 6, text: "module kernel: system, 6809 machine code" },
        ]),
      },
    ]);
  });

  it("sums memory in pages: boot file, start module's storage, the largest program asked for and its storage", () => {
    const [memory] = only(all, "memory");
    const clock = pages(code("clock", { storage: 600 }).length);
    expect(memory).toMatchObject({
      bytes: pages(boot.length) + 512 + clock + 768,
      contiguous: Math.max(pages(boot.length), 768),
    });
    expect(memory!.parts.reduce((sum, each) => sum + each.bytes, 0)).toBe(memory!.bytes);
  });

  it("asks for the port of each terminal with rate, frame and which is the first terminal", () => {
    expect(only(all, "port")).toMatchObject([
      { name: "TERM", address: 0xeff0, console: true, rate: 2400, frame: "8N1", clockRatio: 16 },
    ]);
  });

  it("asks for the image's drive and those the descriptors set up", () => {
    expect(only(all, "drive")).toMatchObject([
      { of: "image", tracks: 40, sides: 1 },
      { of: "descriptor", name: "D0", tracks: 40, sides: 1, sectorsPerTrack: 18, stepCode: 1 },
    ]);
  });

  it("asks for the width of its longest line and the rows of its terminal", () => {
    const [screen] = only(all, "screen");
    expect(screen).toMatchObject({ columns: 79, rows: 24 });
    expect(screen!.evidence[0]).toMatchObject({ file: "notes", offset: 6, text: expect.stringMatching(/^w{72}…$/) });
    expect(screen!.widths).toContainEqual({ columns: 4, lines: 1 });
  });

  it("names the control functions used as ECMA-48 does", () => {
    expect(only(all, "controls")).toMatchObject([
      {
        functions: [
          { name: "CUP", times: 1 },
          { name: "ED", times: 1 },
        ],
        evidence: [{ file: "notes", text: "CUP: \\x1B[5;10H" }, { text: "ED: \\x1B[2J" }],
      },
    ]);
  });

  it("asks for no translation and no record files, as nothing speaks for them", () => {
    expect([...only(all, "translation"), ...only(all, "files")]).toEqual([]);
  });
});

describe("translation", () => {
  it("is asked for by a top of memory beyond 16 bits", () => {
    const found = only(needs(handVolume("segment-list", { boot: bootFile(0x01ffff) })), "translation");
    expect(found).toMatchObject([{ rule: "top of memory", reach: 0x1ffff, evidence: [{ file: "boot" }] }]);
  });

  it("is asked for by a device beyond 16 bits", () => {
    const volume = handVolume("segment-list", { t1: together(terminal("T1", "serial", 0x02e000)) });
    expect(only(needs(volume), "translation")).toMatchObject([{ rule: "device address", reach: 0x2e000 }]);
  });

  it("is asked for by more memory than 16 bits see", () => {
    const big = together(
      boot,
      code("filler", { body: new Uint8Array(40_000) }),
      code("more", { body: new Uint8Array(30_000) }),
    );
    expect(only(needs(handVolume("segment-list", { boot: big })), "translation")).toMatchObject([
      { rule: "more than 64 KiB" },
    ]);
  });
});

describe("needsOf other volumes", () => {
  it("tells Z80 from 8080 programs by the instructions they reach", () => {
    // 8080: MVI C,9; LXI D,0110; CALL 0005; RET.
    const plain = Uint8Array.of(0x0e, 9, 0x11, 0x10, 1, 0xcd, 5, 0, 0xc9);
    // Z80: LD HL,0200; LD DE,0300; LD BC,0010; LDIR; LD IX,0000; RET. Behind it bytes that no flow reaches.
    const blocks = Uint8Array.of(0x21, 0, 2, 0x11, 0, 3, 1, 16, 0, 0xed, 0xb0, 0xdd, 0x21, 0, 0, 0xc9);
    const dead = Uint8Array.of(0xc9, 0xed, 0xb0, 0xdd, 0x21, 0, 0);
    const cpu = only(needs(handVolume("extent-entry", { "A.COM": plain, "B.COM": blocks, "C.COM": dead })), "cpu");
    expect(cpu).toMatchObject([
      { instructionSet: "Z80", runsOn: ["Z80"], evidence: [{ file: "B.COM", offset: 9 }] },
      { instructionSet: "8080", runsOn: ["8080", "8085", "Z80"], evidence: [{ file: "A.COM" }] },
    ]);
  });

  it("asks for memory from 0100 to the end of the largest command file", () => {
    const volume = handVolume("extent-entry", { "A.COM": new Uint8Array(0x1f00), "B.COM": new Uint8Array(0x80) });
    expect(only(needs(volume), "memory")).toMatchObject([
      { from: 0x100, last: 0x1fff, bytes: 0x1f00, contiguous: 0x1f00, computed: "$0100 + 7,936 − 1 = $1FFF" },
    ]);
  });

  it("asks for record files where the volume has them", () => {
    const volume = handVolume("chained-block", {
      stock: { bytes: new Uint8Array(508), kind: "records", records: { length: 50, count: 10 } },
    });
    expect(only(needs(volume), "files")).toMatchObject([
      { wants: "record files", count: 1, evidence: [{ file: "stock", text: "10 records of 50 bytes" }] },
    ]);
  });

  it("finds the width of messages in programs", () => {
    const message = asciiBytes("Insert the second disk and press any key$");
    const volume = handVolume("extent-entry", { "A.COM": together(Uint8Array.of(0xc9), message) });
    expect(only(needs(volume), "screen")).toMatchObject([{ columns: 40, evidence: [{ file: "A.COM", offset: 1 }] }]);
  });

  it("counts a tab to the next multiple of 8, and a control sequence as nothing", () => {
    const volume = handVolume("segment-list", { notes: asciiBytes("ab\tc\x1b[31md\r") });
    expect(only(needs(volume), "screen")).toMatchObject([{ columns: 10 }]);
  });

  it("asks only for the drive where nothing else is known", () => {
    expect(needs(handVolume("fat12", { data: new Uint8Array(100) })).map((each) => each.kind)).toEqual(["drive"]);
  });
});
