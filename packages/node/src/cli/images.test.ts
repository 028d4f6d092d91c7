import { execFileSync, spawnSync } from "node:child_process";
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterAll, beforeAll, describe, expect, it } from "vitest";

/** The verbs that make, mend and compare images, and time, run as a person would. */

const ROOT = fileURLToPath(new URL("../../../..", import.meta.url));
const ROUSE = join(ROOT, "packages/node/bin/rouse.js");
let folder: string;

function rouse(...args: string[]) {
  const { status, stdout, stderr } = spawnSync(process.execPath, [ROUSE, ...args], { cwd: folder, encoding: "utf8" });
  return { status, out: stdout, err: stderr };
}

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "rouse-images-"));
  execFileSync(process.execPath, ["scripts/build.mjs", "node"], { cwd: ROOT });
  mkdirSync(join(folder, "tree/sub"), { recursive: true });
  writeFileSync(join(folder, "tree/read.me"), "hello\r\n");
  writeFileSync(join(folder, "tree/sub/data.bin"), Buffer.alloc(3000, 7));
  writeFileSync(join(folder, "tree.yaml"), "volume: { label: OPEN DAY }\nfiles:\n  read.me: { readOnly: true }\n");
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe("rouse make", () => {
  it("makes an image from a folder and the side file beside it, and never over a file", () => {
    const { status, out } = rouse("make", "tree", "disk.img", "--like", "fat12-720k");
    expect(status).toBe(0);
    expect(out).toContain("2 files");
    expect(rouse("look", "disk.img").out).toMatch(/OPEN DAY[\s\S]*READ\.ME .*read-only[\s\S]*SUB\/DATA\.BIN/);
    const before = readFileSync(join(folder, "disk.img"));
    const again = rouse("make", "tree", "disk.img", "--like", "fat12-360k");
    expect(again).toMatchObject({ status: 2 });
    expect(again.err).toContain("is there already");
    expect(Buffer.compare(readFileSync(join(folder, "disk.img")), before)).toBe(0);
  });

  it("gives back with extract what went in", () => {
    expect(rouse("extract", "disk.img", "out").status).toBe(0);
    expect(readFileSync(join(folder, "out/SUB/DATA.BIN"))).toEqual(Buffer.alloc(3000, 7));
  });

  it("lists formats of all four kinds", () => {
    const { status, out } = rouse("make", "--list", "--json");
    expect(status).toBe(0);
    expect(new Set((JSON.parse(out) as { kind: string }[]).map((each) => each.kind)).size).toBe(4);
  });

  it("refuses what cannot be made with one sentence, and leaves nothing", () => {
    expect(rouse("make", "tree", "x.img", "--like", "fat12-72k").err).toContain("did you mean");
    expect(rouse("make", "tree", "x.img", "--like", "chained-block-zoned-35").err).toMatch(
      /volume\.label|a folder|folders/,
    );
    expect(rouse("make", "nowhere", "x.img", "--like", "fat12-720k").err).toContain("does not exist");
    writeFileSync(join(folder, "bad.yaml"), "volume: { lable: x }\n");
    expect(rouse("make", "tree", "x.img", "--like", "fat12-720k", "--side", "bad.yaml").err).toContain(
      "did you mean “label”",
    );
    mkdirSync(join(folder, "linked"));
    symlinkSync("/etc/hostname", join(folder, "linked/secret"));
    expect(rouse("make", "linked", "x.img", "--like", "fat12-720k").err).toContain("a symbolic link");
    expect(existsSync(join(folder, "x.img"))).toBe(false);
  });
});

describe("rouse mend and rouse compare", () => {
  it("mend into a new image, list the changes, and leave the old one as it was", () => {
    const hurt = readFileSync(join(folder, "disk.img"));
    hurt.fill(0, 512, 1024);
    writeFileSync(join(folder, "hurt.img"), hurt);
    const dry = rouse("mend", "hurt.img", "--dry");
    expect(dry).toMatchObject({ status: 0 });
    expect(dry.out).toContain("Would be changed");
    const { status, out } = rouse("mend", "hurt.img", "mended.img");
    expect(status).toBe(0);
    expect(out).toContain("Every copy of the FAT was made");
    expect(Buffer.compare(readFileSync(join(folder, "hurt.img")), hurt)).toBe(0);
    expect(rouse("compare", "disk.img", "mended.img")).toMatchObject({ status: 0 });
    expect(rouse("mend", "hurt.img", "mended.img").err).toContain("is there already");
    expect(rouse("mend", "hurt.img", "hurt.img").err).toContain("is there already");
  });

  it("ends with 1 where something is left, and says what to do", () => {
    writeFileSync(join(folder, "short.img"), readFileSync(join(folder, "disk.img")).subarray(0, 100_000));
    const { status, out } = rouse("mend", "short.img", "short-mended.img", "--json");
    expect(status).toBe(1);
    expect((JSON.parse(out) as { left: { code: string }[] }).left.map((each) => each.code)).toContain("short-image");
  });

  it("tell two images apart by blocks and by files", () => {
    const other = readFileSync(join(folder, "disk.img"));
    const at = other.indexOf(Buffer.alloc(100, 7));
    other[at + 50] = 8;
    writeFileSync(join(folder, "other.img"), other);
    const { status, out } = rouse("compare", "disk.img", "other.img");
    expect(status).toBe(1);
    expect(out).toMatch(/1 byte differs, in 1 block:/);
    expect(out).toMatch(/track \d+, side \d+, sector \d+ +SUB\/DATA\.BIN/);
    expect(out).toContain("SUB/DATA.BIN: 1 byte differs, the first at 50.");
  });
});

describe("rouse time", () => {
  beforeAll(() => {
    mkdirSync(join(folder, "job/images"), { recursive: true });
    writeFileSync(join(folder, "job/images/disk.img"), readFileSync(join(folder, "disk.img")));
    writeFileSync(
      join(folder, "job/bench.yaml"),
      "rouse: 1\nname: a small bench\nimages:\n  disk: { file: images/disk.img, recording: ecma-100, drive: left }\nbuses: { cable: { kind: 34-wire drive bus } }\ndrives:\n  left: { class: three-inch-half-two-side, bus: cable }\n",
    );
  });

  it("says at least how long, and names the key that is missing", () => {
    const { status, out } = rouse("time", "job", "--what", "verify");
    expect(status).toBe(0);
    expect(out).toContain("verify: not known; at least");
    expect(out).toContain("computer.cpu.handling");
  });

  it("fits what is missing to a measured time, and prints the waterfall for machines", () => {
    const { status, out } = rouse(
      "time",
      "job",
      "--what",
      "load DATA",
      "--measured",
      "verify 330 s",
      "--interleave",
      "--json",
    );
    expect(status).toBe(0);
    const { answer, fitted, interleave } = JSON.parse(out) as {
      answer: {
        known: boolean;
        low: number;
        high: number;
        spans: { start: number; length: number; lane: string }[];
        events: number;
      };
      fitted: { values: { key: string }[] };
      interleave: { interleaves: unknown[] };
    };
    expect(answer.known).toBe(true);
    expect(answer.low).toBeLessThanOrEqual(answer.high);
    expect(answer.spans.every((each) => each.start >= 0 && each.length > 0)).toBe(true);
    expect(fitted.values.map((each) => each.key)).toEqual(["computer.cpu.handling"]);
    expect(interleave.interleaves.length).toBe(8);
  });

  it("refuses a job that it doesn't know, a file that isn't there and a time that it can't read", () => {
    expect(rouse("time", "job", "--what", "dance").err).toContain("can't be timed");
    expect(rouse("time", "job", "--what", "load NOTHING").err).toContain("no file “NOTHING”");
    expect(rouse("time", "job", "--measured", "boot soon").err).toContain("not a measurement");
    expect(rouse("time", "job", "--what", "boot")).toMatchObject({ status: 2 });
  });
});
