import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { loadCatalogue } from "@rouse/core/catalogue";
import { encodeTrack, trackForm } from "@rouse/core/recording";
import { simulateRead } from "@rouse/core/recording/kit";
import { afterAll, beforeAll, describe, expect, it } from "vitest";

const ROUSE = fileURLToPath(new URL("../../bin/rouse.js", import.meta.url));
let folder: string;
const rouse = (...args: string[]) => spawnSync(process.execPath, [ROUSE, ...args], { cwd: folder, encoding: "utf8" });

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "rouse-track-"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe("rouse track", () => {
  it("lays out the 8-inch single-density track with its 5,208 bytes", () => {
    // 26 × 188 + 73 + 247 = 5,208 (179x data sheet, section 12.1); see checks/recording.
    const { status, stdout } = rouse("track", "ecma-54");
    expect(status).toBe(0);
    expect(stdout).toContain("26 sectors of 128 bytes in FM");
    expect(stdout).toMatch(/● fits\s+nominal\s+247\.33 of 5,208\.33 bytes left/);
  });

  it("refuses a track or a recording that is not there", () => {
    expect(rouse("track", "ecma-54", "--track", "99")).toMatchObject({ status: 2 });
    expect(rouse("track", "ecma-55").stderr).toContain("did you mean “ecma-54”?");
  });
});

describe("rouse recover", () => {
  const recording = loadCatalogue().recordings.get("ecma-54")!;
  const form = trackForm(recording, 3, 0);
  const data = Uint8Array.from({ length: 26 * 128 }, (_, index) => (index * 7) & 0xff);
  const capture = (faults: Parameters<typeof simulateRead>[2]) => {
    const { transitions } = simulateRead(encodeTrack(form, data), form.cellSeconds, faults);
    // A narrow low pulse at each transition, as a drive's read line gives it.
    return `seconds,read\n${Array.from(transitions, (time) => `${time.toFixed(9)},0\n${(time + 200e-9).toFixed(9)},1\n`).join("")}`;
  };

  it("finds the recording of a sampled track and recovers every sector into an image", () => {
    writeFileSync(join(folder, "t3.csv"), capture({ turns: 2, jitter: 0.06, speed: 0.02, seed: 4 }));
    const { status, stdout } = rouse("recover", "t3.csv", "--recording", "ecma-54", "--out", "disk.img");
    expect(stdout).toContain("26 of 26 sectors by their check");
    expect(status).toBe(1); // The other tracks are not there.
    const image = readFileSync(join(folder, "disk.img"));
    expect(Buffer.compare(image.subarray(3 * 26 * 128, 4 * 26 * 128), data)).toBe(0);
    expect(rouse("recover", "t3.csv", "--out", "disk.img")).toMatchObject({ status: 2 });
  });

  it("says in one sentence that nothing is there", () => {
    writeFileSync(join(folder, "noise.csv"), "seconds,read\n0,1\n1,0\n2,1\n");
    const { status, stderr } = rouse("recover", "noise.csv");
    expect(status).toBe(2);
    expect(stderr.trim().split("\n")).toHaveLength(1);
  });
});
