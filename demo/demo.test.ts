import { cp, mkdir, mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { type CheckedJob, checkJob } from "@rouse/node/job";
import { openJob } from "@rouse/node/store";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { verb as check } from "../packages/node/src/cli/check.ts";
import { demoImages } from "./images.ts";

/** The demo's promise: what `rouse check` says of its three benches. */

const DEMO = fileURLToPath(new URL(".", import.meta.url));
const JOBS = ["first-try", "mended", "second-machine"] as const;

let folder: string;
const images = demoImages(DEMO);
const checked = new Map<string, CheckedJob>();

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "rouse-demo-"));
  for (const job of JOBS) {
    await mkdir(join(folder, job), { recursive: true });
    await cp(join(DEMO, job, "bench.yaml"), join(folder, job, "bench.yaml"));
  }
  for (const [path, bytes] of images) {
    await mkdir(dirname(join(folder, path)), { recursive: true });
    await writeFile(join(folder, path), bytes);
  }
  for (const job of JOBS) checked.set(job, await checkJob(await openJob(join(folder, job))));
});
afterAll(() => rm(folder, { recursive: true, force: true }));

const findings = (job: string, verdict: string): string[] =>
  checked
    .get(job)!
    .report.links.flatMap((each) => each.findings)
    .filter((each) => each.verdict === verdict)
    .map((each) => each.id)
    .sort();
const finding = (job: string, id: string) =>
  checked
    .get(job)!
    .report.links.flatMap((each) => each.findings)
    .find((each) => each.id === id);

describe("the demo's images", () => {
  it("come out the same each time", () => {
    const again = demoImages(DEMO);
    expect([...again.keys()]).toEqual([...images.keys()]);
    for (const [path, bytes] of again) expect(Buffer.compare(bytes, images.get(path)!), path).toBe(0);
  });

  it("are one disk for both benches of the Larkfield 9, and fill their recordings", () => {
    expect(images.get("first-try/images/tern.img")).toBe(images.get("mended/images/tern.img"));
    expect(images.get("mended/images/tern.img")!.length).toBe(4166 * 256);
    expect(images.get("second-machine/images/larkfield-z.img")!.length).toBe(77 * 26 * 128);
  });
});

describe("rouse check", () => {
  it.each([
    ["first-try", 1, "The chain stops at: drive, cable."],
    ["mended", 0, "The chain reaches its target, with less margin than is wise in places."],
    ["second-machine", 0, "The chain reaches its target."],
  ])("of %s ends with %i", async (job, code, ending) => {
    const shown: string[] = [];
    const out = { line: (text = "") => shown.push(text), width: 100, colour: false };
    expect(await check.run({ positionals: [join(folder, job)], values: {} }, out)).toBe(code);
    expect(shown).toContain(ending);
  });
});

describe("the bench as it was first put together", () => {
  it("stops at the planted faults, and nowhere else", () => {
    expect(findings("first-try", "stops")).toEqual(["cable-nets/terminal cable", "drive-sides/tern"]);
    expect(findings("first-try", "tight")).toEqual(["supply-current/+5 V", "terminal-width/stage terminal"]);
    expect(findings("first-try", "unknown")).toEqual([]);
    expect(checked.get("first-try")!.report.verdict).toBe("stops");
  });

  it("says what to do about each of them", () => {
    for (const id of ["cable-nets/terminal cable", "drive-sides/tern", "supply-current/+5 V"])
      expect(finding("first-try", id)!.remedy, id).toBeTruthy();
  });
});

describe("the mended bench", () => {
  it("reaches the login: nothing stops and nothing is unknown, and only the wide texts are tight", () => {
    expect(findings("mended", "stops")).toEqual([]);
    expect(findings("mended", "unknown")).toEqual([]);
    expect(findings("mended", "tight")).toEqual(["terminal-width/stage terminal"]);
    expect(finding("mended", "terminal-width/stage terminal")!.sentence).toContain("Lines of up to 80 characters");
  });

  it("has every module sound and everything that the start-up asks for", () => {
    const system = checked.get("mended")!.chain!;
    expect(system.verdict).toBe("tight");
    expect(finding("mended", "system-modules/tern")).toMatchObject({
      verdict: "runs",
      sentence: "All 22 modules on tern pass header parity and CRC.",
    });
    const boot = finding("mended", "system-boot/tern")!;
    expect(boot.verdict).toBe("runs");
    const asked = boot.figures.map((each) => each.label.replace(/[“”]/g, ""));
    expect(asked).toEqual(
      expect.arrayContaining([
        "start module first",
        "default disk d0",
        "first terminal term",
        "file manager segments",
        "file manager lines",
        "driver serial",
        "driver drive",
        "command login",
        "device t1",
        "login program shell",
      ]),
    );
  });

  it("needs the translation board, and the console that its descriptor names", () => {
    expect(finding("mended", "memory-translation/tern")).toMatchObject({ verdict: "runs" });
    expect(finding("mended", "port-descriptor/term")!.sentence).toContain("$FF00, 2,400 bit/s, 7E1");
  });
});

describe("the second machine", () => {
  it("runs in every link", () => {
    for (const verdict of ["stops", "tight", "unknown"])
      expect(findings("second-machine", verdict), verdict).toEqual([]);
    expect(finding("second-machine", "system-boot/system disk")).toMatchObject({ verdict: "runs" });
    expect(finding("second-machine", "system-cpu/system disk")!.sentence).toContain("Z80 code");
  });
});
