import { spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { reportSchema } from "@rouse/core/fit/report-schema";
import { buildFat12, buildSegmentList } from "@rouse/core/volume";
import { afterAll, beforeAll, describe, expect, it } from "vitest";

const ROOT = fileURLToPath(new URL("../../../..", import.meta.url));
const ROUSE = join(ROOT, "packages/node/bin/rouse.js");
let folder: string;

/** Runs the built command as a person would. */
function rouse(args: readonly string[], input = "") {
  const { status, stdout, stderr } = spawnSync(process.execPath, [ROUSE, ...args], {
    cwd: folder,
    encoding: "utf8",
    input,
  });
  return { status, out: stdout, err: stderr };
}

const text = (words: string) => new TextEncoder().encode(words);

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "rouse-cli-"));
  mkdirSync(join(folder, "job/images"), { recursive: true });
  writeFileSync(
    join(folder, "job/images/disk.img"),
    buildFat12(
      [
        { path: "READ.ME", type: "file", bytes: text("first line\r\nsecond line\r\n") },
        { path: "SUB", type: "folder", bytes: new Uint8Array(0) },
        { path: "SUB/RAW.BIN", type: "file", bytes: Uint8Array.of(0, 27, 255, 3) },
      ],
      { format: "360K", label: "TESTDISK" },
    ),
  );
  // The builder refuses such names, so they are put in afterwards, as a hostile image would have them.
  const odd = Buffer.from(
    buildSegmentList(
      [
        { path: "aQ[31mred", type: "file", bytes: text("x") },
        { path: "..Q..Qescape", type: "file", bytes: text("y") },
      ],
      { tracks: 35, sides: 1, sectors: 18 },
    ),
  );
  odd[odd.indexOf("aQ[31mre") + 1] = 0x1b;
  odd[odd.indexOf("..Q..Qesc") + 2] = 0x2f;
  odd[odd.indexOf("..Qesc") + 2] = 0x2f;
  writeFileSync(join(folder, "job/images/odd.img"), odd);
  writeFileSync(
    join(folder, "job/bench.yaml"),
    "rouse: 1\nname: a small bench\nimages:\n  disk: { file: images/disk.img, recording: five-inch-two-side-9x512, drive: left, medium: floppy }\ndrives:\n  left: { class: five-inch-40-track-one-side }\nmedia:\n  floppy: { class: five-inch-two-side }\n",
  );
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe("rouse check", () => {
  it("ends with 1 and names the link where something stops", () => {
    const { status, out } = rouse(["check", "job"]);
    expect(status).toBe(1);
    expect(out).toContain("The chain stops at: drive.");
    expect(out.replace(/\s+/g, " ")).toContain("360 of its 720 blocks are out of reach");
  });

  it("prints a report that its own schema accepts", () => {
    const { status, out } = rouse(["check", "job", "--json"]);
    expect(status).toBe(1);
    const report = reportSchema.parse(JSON.parse(out));
    expect(report.images[0]).toMatchObject({ kind: "fat12", label: "TESTDISK", condition: "whole" });
    expect(report.links.flatMap((link) => link.findings).find((each) => each.id === "drive-sides/disk")).toMatchObject({
      line: 6,
    });
  });

  it("explains a check with its formula and sources", () => {
    const { out } = rouse(["check", "job", "--explain", "drive-sides"]);
    expect(out).toContain("blocks out of reach =");
    expect(out).toContain("Sources:");
  });

  it("ends with 2 and one located sentence an error where the bench file is wrong", () => {
    mkdirSync(join(folder, "bad"), { recursive: true });
    writeFileSync(join(folder, "bad/bench.yaml"), "rouse: 1\nname: x\ndrivez: {}\n");
    const { status, err, out } = rouse(["check", "bad"]);
    expect(status).toBe(2);
    expect(out).toBe("");
    expect(err).toContain("bench.yaml:3:1: “drivez” is not a key here; did you mean “drives”?");
  });

  it("ends with 2 where there is no job", () => {
    expect(rouse(["check", "nowhere"])).toMatchObject({ status: 2, out: "" });
  });

  it("lays the job's own catalogue over the built-in one", () => {
    mkdirSync(join(folder, "own/catalogue"), { recursive: true });
    mkdirSync(join(folder, "own/images"));
    writeFileSync(join(folder, "own/bench.yaml"), "rouse: 1\nname: x\nterminals:\n  t: { class: my-screen }\n");
    const refused = rouse(["check", "own"]);
    expect(refused.status).toBe(2);
    expect(refused.err).toContain("“my-screen” is not a terminal class");
    writeFileSync(
      join(folder, "own/catalogue/mine.yaml"),
      "terminals:\n  - { id: my-screen, title: mine, columns: 64, rows: 16, letters: upper case only, wraps: true, scrolls: true, addressing: none, controls: [], characterSet: ISO 646, rates: [300], frames: ['8N1'] }\n",
    );
    const found = rouse(["check", "own"]);
    expect(found).toMatchObject({ status: 0, err: "" });
    // What is not there is named by its key, and nothing is said to be reached.
    expect(found.out).toContain("needed: ports");
    expect(found.out).toContain("Nothing stops the chain as far as it is known");
  });
});

describe("rouse look", () => {
  it("lists an image and says whether it is whole", () => {
    const { status, out } = rouse(["look", "job/images/disk.img"]);
    expect(status).toBe(0);
    expect(out).toContain("● whole");
    expect(out).toContain("SUB/RAW.BIN");
  });

  it("shows a file as text or as bytes", () => {
    expect(rouse(["look", "job/images/disk.img:READ.ME"]).out).toContain("first line\nsecond line\n");
    expect(rouse(["look", "job/images/disk.img:SUB/RAW.BIN"]).out).toContain("00 1B FF 03");
  });

  it("names the nearest file where there is none of that name", () => {
    expect(rouse(["look", "job/images/disk.img:REED.ME"])).toMatchObject({ status: 2 });
    expect(rouse(["look", "job/images/disk.img:REED.ME"]).err).toContain("READ.ME");
  });

  it("lets no control function of a file name reach the terminal", () => {
    const { out } = rouse(["look", "job/images/odd.img"]);
    expect(out).not.toContain("\u001b");
    expect(out).toContain("red");
  });

  it("refuses what is no image in one sentence", () => {
    writeFileSync(join(folder, "noise.bin"), new Uint8Array(999).fill(7));
    const { status, err } = rouse(["look", "noise.bin"]);
    expect(status).toBe(2);
    expect(err).toBe("rouse: Nothing in these 999 bytes speaks for a volume of a kind that Rouse knows.\n");
    writeFileSync(join(folder, "none.bin"), "");
    expect(rouse(["look", "none.bin"])).toMatchObject({
      status: 2,
      err: "rouse: This image is empty: it has 0 bytes.\n",
    });
  });

  it("marks a damage once, at the line that it begins on", () => {
    const hurt = readFileSync(join(folder, "job/images/disk.img"));
    hurt.fill(0, 3 * 512, 5 * 512); // the second copy of the FAT
    writeFileSync(join(folder, "hurt.img"), hurt);
    const lines = rouse(["look", "hurt.img"]).out.split("\n");
    const first = lines.findIndex((line) => line.startsWith("  ● The two copies of the FAT differ"));
    expect(first).toBeGreaterThan(0);
    expect(lines[first + 1]).toMatch(/^ {4}\S/);
  });
});

describe("rouse extract", () => {
  it("copies files bytes for bytes, and converts text only when told", () => {
    expect(rouse(["extract", "job/images/disk.img", "all"]).status).toBe(0);
    expect(readFileSync(join(folder, "all/READ.ME"), "latin1")).toBe("first line\r\nsecond line\r\n");
    expect([...readFileSync(join(folder, "all/SUB/RAW.BIN"))]).toEqual([0, 27, 255, 3]);
    expect(rouse(["extract", "job/images/disk.img:READ.ME", "one", "--text", "lf"]).status).toBe(0);
    expect(readFileSync(join(folder, "one/READ.ME"), "latin1")).toBe("first line\nsecond line\n");
  });

  it("writes over nothing unless told", () => {
    rouse(["extract", "job/images/disk.img", "twice"]);
    expect(rouse(["extract", "job/images/disk.img", "twice"]).status).toBe(2);
    expect(rouse(["extract", "job/images/disk.img", "twice", "--replace"]).status).toBe(0);
  });

  it("keeps a hostile name inside the folder", () => {
    expect(rouse(["extract", "job/images/odd.img", "odd"]).status).toBe(0);
    expect(readdirSync(join(folder, "odd"))).toHaveLength(2);
    expect(readdirSync(folder)).not.toContain("escape");
  });
});

describe("rouse new", () => {
  it("writes a bench from answers that the next check reads", () => {
    const answers = JSON.stringify({ name: "mine", cpu: "6502", clock: "1 MHz", uart: "6551", rate: "300 bit/s" });
    expect(rouse(["new", "fresh", "--answers", answers]).status).toBe(0);
    const { status, err } = rouse(["check", "fresh"]);
    expect(err).toBe("");
    expect(status).toBe(1); // The image is not there yet.
  });

  it("asks on the terminal and takes an empty answer for unknown", () => {
    const { status, out } = rouse(["new", "asked"], "my machine\n\nZ80A\n4 MHz\n\n\n\n\n");
    expect(status).toBe(0);
    expect(out).toContain("Which CPU");
    expect(readFileSync(join(folder, "asked/bench.yaml"), "utf8")).toContain('part: "Z80A"');
  });

  it("asks again where an answer cannot be used, and keeps the others", () => {
    const { status, out } = rouse(
      ["new", "again"],
      "my machine\n\n6502\nfast\n1 MHz\n\necma-545\necma-54\n6551\n300\n",
    );
    expect(status).toBe(0);
    expect(out).toContain("“fast” is not a number with a unit");
    expect(out).toContain("did you mean “ecma-54”?");
    const text = readFileSync(join(folder, "again/bench.yaml"), "utf8");
    for (const line of ['part: "6502"', "clock: 1 MHz", "recording: ecma-54", 'uart: "6551"', "# rate: 9,600 bit/s"])
      expect(text).toContain(line);
  });

  it("writes nothing that was not said: what a cable joins stays unknown", () => {
    rouse(["new", "unsaid"], "");
    const report = JSON.parse(rouse(["check", "unsaid", "--json"]).out);
    const cable = report.links.find((each: { link: string }) => each.link === "cable");
    expect(cable.findings[0].missing).toContain("cables.terminal cable.kind");
  });

  it("never writes over a bench, and writes nothing where an answer is wrong", () => {
    rouse(["new", "kept", "--like", "demo"]);
    expect(rouse(["new", "kept", "--like", "demo"])).toMatchObject({ status: 2 });
    expect(rouse(["new", "wrong", "--answers", '{"name":"x","clock":"fast"}']).status).toBe(2);
    expect(() => readdirSync(join(folder, "wrong"))).toThrow();
  });
});

describe("the command", () => {
  it("helps: an overview, a verb's own page, and a near verb for a misspelt one", () => {
    expect(rouse(["--help"]).out).toContain("rouse VERB");
    expect(rouse(["check", "--help"]).out).toContain("--explain ID");
    expect(rouse(["chekc"])).toMatchObject({ status: 2 });
    expect(rouse(["chekc"]).err).toContain("did you mean “check”?");
    expect(rouse(["check", "--nonsense"]).status).toBe(2);
  });

  it("prints JSON Schemas of the bench and of the report", () => {
    expect(JSON.parse(rouse(["schema"]).out).title).toContain("bench file");
    expect(JSON.parse(rouse(["schema", "report"]).out).properties.links).toBeDefined();
  });

  it("shows every value of a part with its source", () => {
    const { out } = rouse(["catalogue", "chips", "ls244"]);
    expect(out).toContain("54 mA");
    expect(out).toMatch(/memory|data sheet/);
  });
});
