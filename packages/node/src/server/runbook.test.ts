import { cp, mkdir, mkdtemp, readdir, readFile, rm, symlink, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { stateOf } from "@rouse/core/runbook";
import { afterEach, beforeEach, describe, expect, it } from "vitest";
import { appendLog, type Job, openJob, readLog } from "../store/index.ts";
import { createRunBook, type RunBookRoom } from "./runbook.ts";

const NOW = Date.UTC(2026, 5, 6, 10);
const PNG = Uint8Array.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, 1, 2, 3]);

let folder: string;
let job: Job;
let room: RunBookRoom;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), "rouse-runbook-"));
  await cp("demo/mended", folder, { recursive: true });
  job = await openJob(folder);
  room = createRunBook(job, () => new Date(NOW));
});
afterEach(async () => {
  room.close();
  await rm(folder, { recursive: true, force: true });
});

let count = 0;
async function entry(step: string, more: object = {}): Promise<Record<string, unknown>> {
  const { book } = await room.read();
  const basis = book.steps.find(({ id }) => id === step)?.basis ?? "0".repeat(16);
  count += 1;
  return { id: `entry-${1000 + count}`, at: new Date(NOW - 60_000).toISOString(), step, basis, what: "tick", ...more };
}
const stateNow = async (step: string) => {
  const { book, log } = await room.read();
  return stateOf(book, log).steps.find((each) => each.step.id === step)!;
};

describe("entries of pages", () => {
  it("are added once, however often and at once they come", async () => {
    const one = await entry("inspect-case");
    const answers = await Promise.all([room.add([one, one], NOW), room.add([one], NOW)]);
    expect(answers).toEqual([
      { added: [one.id], known: [one.id], refused: [] },
      { added: [], known: [one.id], refused: [] },
    ]);
    expect((await readLog(job)).entries).toHaveLength(1);
    expect((await stateNow("inspect-case")).state).toBe("done");
  });

  it("are refused one by one, with a sentence, and the others are kept", async () => {
    const [good, bad] = [await entry("inspect-case"), await entry("supply-off-load/+5 V")];
    const taken = await room.add([bad, good, { id: "\u001b[31m" }], NOW);
    expect(taken.added).toEqual([good.id]);
    expect(taken.refused.map(({ sentence }) => sentence)).toEqual([
      "This step asks for a reading of rail +5 V, 5 V ± 5 %.",
      expect.stringMatching(/^This is no entry/),
    ]);
    expect(taken.refused[1]?.id).not.toContain("\u001b");
  });

  it("have their times set by this computer's clock, and none is later than now", async () => {
    const [late, ahead] = [await entry("inspect-case"), await entry("boot")];
    await room.add([{ ...late, at: "2026-06-06T08:59:00Z" }], NOW - 3_600_000);
    await room.add([{ ...ahead, at: "2031-01-01T00:00:00Z" }], NOW);
    const { entries } = await readLog(job);
    expect(entries.map((each) => each.entry.at)).toEqual(["2026-06-06T09:59:00.000Z", "2026-06-06T10:00:00.000Z"]);
  });

  it("are kept while the bench file cannot be read, and judged when it can", async () => {
    const one = await entry("inspect-case");
    const bench = await readFile(join(folder, "bench.yaml"));
    await writeFile(join(folder, "bench.yaml"), "bench: [");
    await expect(room.read()).rejects.toMatchObject({ code: "bad-bench" });
    expect((await room.add([one], NOW)).added).toEqual([one.id]);
    await writeFile(join(folder, "bench.yaml"), bench);
    expect((await stateNow("inspect-case")).state).toBe("done");
  });

  it("are told to those who follow, also where another program logged them", async () => {
    let told = 0;
    const leave = room.follow(() => {
      told += 1;
    });
    await room.add([await entry("inspect-case")], NOW);
    expect(told).toBe(1);
    // The first look only sees how the log stands.
    await new Promise((done) => setTimeout(done, 900));
    const before = told;
    await appendLog(job, await entry("boot"), () => new Date(NOW));
    for (let k = 0; k < 100 && told === before; k++) await new Promise((done) => setTimeout(done, 50));
    expect(told).toBeGreaterThan(before);
    leave();
  });
});

describe("files as evidence", () => {
  it("are photographs kept whole in the dossier, once", async () => {
    const one = await entry("inspect-case");
    expect((await room.addPhoto(one, NOW, PNG)).added).toEqual([one.id]);
    expect((await room.addPhoto(one, NOW, PNG)).known).toEqual([one.id]);
    const names = await readdir(join(folder, "dossier/photos"));
    expect(names).toEqual([`2026-06-06-inspect-case-${one.id}.png`]);
    const path = `dossier/photos/${names[0]}`;
    expect(await room.photo(path)).toEqual({ bytes: PNG, type: "image/png" });
    const { evidence } = await stateNow("inspect-case");
    expect(evidence[0]?.file).toEqual({ path, sha256: expect.stringMatching(/^[0-9a-f]{64}$/) });
    expect(await room.files()).toEqual([]);
  });

  it("are gone on with where the photograph was kept and its entry was not", async () => {
    const one = await entry("inspect-case");
    await mkdir(join(folder, "dossier/photos"), { recursive: true });
    const path = join(folder, `dossier/photos/2026-06-06-inspect-case-${one.id}.png`);
    await writeFile(path, PNG);
    expect((await room.addPhoto(one, NOW, PNG)).added).toEqual([one.id]);
    const other = await entry("inspect-case");
    await writeFile(path.replace(String(one.id), String(other.id)), "something else");
    await expect(room.addPhoto(other, NOW, PNG)).rejects.toMatchObject({ code: "target-there" });
    expect((await readLog(job)).entries).toHaveLength(1);
  });

  it("are nothing that is no photograph, and lie nowhere outside", async () => {
    await expect(room.addPhoto(await entry("boot"), NOW, Uint8Array.of(0x3c, 0x73))).rejects.toMatchObject({
      code: "not-a-photo",
    });
    const outside = await mkdtemp(join(tmpdir(), "rouse-outside-"));
    await symlink(outside, join(folder, "dossier"));
    await expect(room.addPhoto(await entry("boot"), NOW, PNG)).rejects.toMatchObject({ code: "outside-folder" });
    expect(await readdir(outside)).toEqual([]);
    expect((await readLog(job)).entries).toEqual([]);
    await rm(outside, { recursive: true });
  });

  it("are captures of the job, and shown only where the log names them", async () => {
    await mkdir(join(folder, "captures"));
    await writeFile(join(folder, "captures/first-boot.jsonl"), "{}\n");
    const one = await entry("boot");
    expect((await room.attach(one, NOW, "captures/first-boot.jsonl")).added).toEqual([one.id]);
    for (const path of ["bench.yaml", "captures/../bench.yaml", "captures/none", "/etc/passwd", "images/tern.img"])
      await expect(room.attach(await entry("boot"), NOW, path), path).rejects.toMatchObject({ code: "no-such-file" });
    await expect(room.photo("bench.yaml")).rejects.toMatchObject({ code: "no-such-file" });
    await expect(room.photo("captures/first-boot.jsonl")).rejects.toMatchObject({ code: "not-a-photo" });
  });
});
