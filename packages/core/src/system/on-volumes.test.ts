import { describe, expect, it } from "vitest";
import { asciiBytes, encodeText } from "../bytes/index.ts";
import { buildChainedBlock, chainedBlock } from "../volume/chained-block/index.ts";
import { buildExtentEntry, extentEntry, STANDARD_8_INCH } from "../volume/extent-entry/index.ts";
import { buildFat12, fat12 } from "../volume/fat12/index.ts";
import type { TreeEntry, Volume, VolumeFormat } from "../volume/index.ts";
import { buildSegmentList, segmentList } from "../volume/segment-list/index.ts";
import { bootFile, code } from "./hand-made.ts";
import { MODULE_TYPE } from "./module.ts";
import { needsOf } from "./needs.ts";
import { inspectSystem } from "./survey-system.ts";

/** The system read off real images of each kind, as the builders make them. */

const file = (path: string, bytes: Uint8Array, wishes?: NonNullable<TreeEntry["wishes"]>): TreeEntry => ({
  path,
  type: "file",
  bytes,
  ...(wishes ? { wishes } : {}),
});

function open<Options>(format: VolumeFormat<Options>, image: Uint8Array): Volume {
  return format.open(image, format.recognise(image)[0]!.options);
}

describe("a system on a segment-list image", () => {
  const image = buildSegmentList(
    [
      file("decoy", new Uint8Array(300)),
      file("system", bootFile(0x01ffff)),
      file("startup", asciiBytes("clock\rlost\r")),
      file("cmds/clock", code("clock", { storage: 600 })),
      file("cmds/drivers", code("serial", { type: MODULE_TYPE.driver })),
      file("sys/accounts", asciiBytes("guide,lantern,0,128,cmds,.,shell\r")),
    ],
    { tracks: 40, sides: 1, sectors: 18, bootstrap: "system" },
  );
  const volume = open(segmentList, image);
  const report = inspectSystem(volume);

  it("has its boot file told by the bootstrap's place", () => {
    expect(report.boot).toMatchObject({ file: "system", how: expect.stringContaining("where the volume places") });
    expect(report.boot.configuration!.path).toBe("system");
  });

  it("has the same modules whole, and the asks answered", () => {
    expect(report.modules.filter((each) => each.faults.length > 0)).toEqual([]);
    const states = new Map(report.asks.map((each) => [each.name, each.state]));
    expect(["first", "clock", "serial", "lost", "shell"].map((name) => states.get(name))).toEqual([
      "ready",
      "ready",
      "not loaded",
      "missing",
      "missing",
    ]);
  });

  it("asks for a 6809, memory, translation, a drive, a port and a screen", () => {
    const kinds = new Set(needsOf(report, volume).map((each) => each.kind));
    expect([...kinds].sort()).toEqual(["cpu", "drive", "memory", "port", "screen", "translation"]);
  });

  it("has a damaged module told with its file when one byte of the image is changed", () => {
    const entry = volume.entries.find((each) => each.path === "cmds/clock")!;
    const broken = image.slice();
    broken[entry.blocks[0]! * 256 + 40]! ^= 0x20;
    const again = inspectSystem(open(segmentList, broken));
    expect(again.modules.filter((each) => each.faults.length > 0)).toMatchObject([
      { path: "cmds/clock", name: "clock", faults: [{ code: "crc" }] },
    ]);
    expect(again.asks.find((each) => each.name === "clock")!.state).toBe("damaged");
  });
});

describe("a system on an extent-entry image", () => {
  it("has its system tracks, command files and their memory told", () => {
    const tree = [file("CLOCK.COM", new Uint8Array(0x1f00).fill(0xc9)), file("NOTES.TXT", asciiBytes("Hello\r\n\x1a"))];
    const volume = open(extentEntry, buildExtentEntry(tree, STANDARD_8_INCH, Uint8Array.of(0xf3, 0x31)));
    const report = inspectSystem(volume);
    expect(report.systemTracks).toMatch(/^2 reserved, .* hold something$/);
    expect(report.programs).toMatchObject([{ path: "CLOCK.COM", loadAt: 0x100, last: 0x1fff }]);
    expect(needsOf(report, volume)).toContainEqual(expect.objectContaining({ kind: "screen", columns: 5 }));
  });
});

describe("a system on a chained-block image", () => {
  const image = buildChainedBlock(
    [
      file("game", Uint8Array.of(0x01, 0x04, 0x60, 0x60), { kind: "program" }),
      file("stock", new Uint8Array(500), { kind: "records", recordLength: 50 }),
      file("notes", encodeText(`Hello There, ${"Big Day ".repeat(5)}\r`, "case-exchanged"), { kind: "sequential" }),
    ],
    { layout: "77-track-two-sided", name: "demo", id: "d1" },
  );
  const volume = open(chainedBlock, image);

  it("has load addresses and record files told", () => {
    const report = inspectSystem(volume);
    expect(report.programs).toMatchObject([{ loadAt: 0x401, last: 0x402 }]);
    expect(needsOf(report, volume)).toContainEqual(
      expect.objectContaining({ kind: "files", wants: "record files", count: 1 }),
    );
    expect(needsOf(report, volume)).toContainEqual(expect.objectContaining({ kind: "drive", tracks: 77, sides: 2 }));
  });

  it("has text in case-exchanged code measured and shown readably", () => {
    const screen = needsOf(inspectSystem(volume), volume).find((each) => each.kind === "screen");
    expect(screen).toMatchObject({ columns: 53, evidence: [{ text: expect.stringMatching(/^Hello There, Big Day/) }] });
  });
});

describe("a FAT12 image", () => {
  it("has modules found in its files", () => {
    const volume = open(fat12, buildFat12([file("BOOT.BIN", bootFile())], { format: "720K" }));
    expect(inspectSystem(volume).boot).toMatchObject({ file: "BOOT.BIN" });
  });
});
