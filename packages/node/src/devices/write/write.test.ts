import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type Job, readLog } from "../../store/index.ts";
import { type BlockDevice, type DeviceOpener, realOpener } from "./device.ts";
import { now, type WriteFixture, writeFixture } from "./fixture.ts";
import { interruptedWrites } from "./journal.ts";
import { planWrite, refuseChanged, runWrite, type WriteRequest } from "./session.ts";

let fixture: WriteFixture;
let folder: string;
let job: Job;
let image: Uint8Array;
beforeAll(async () => {
  fixture = await writeFixture();
  ({ folder, job, image } = fixture);
});
afterAll(() => fixture.remove());
const clean = () => fixture.clean();
const target = () => join(folder, "target.img");
const old = () => Buffer.alloc(image.length, 0xe5);
const request = (more: Partial<WriteRequest> = {}): WriteRequest => ({
  job,
  image: "disk.img",
  target: target(),
  ...more,
});

/** A device over memory that misbehaves where a test says so. */
function device(bytes: Uint8Array, odd: Partial<BlockDevice> = {}): DeviceOpener & { opened: string[] } {
  const opened: string[] = [];
  return {
    opened,
    open: async (_path, mode) => {
      opened.push(mode);
      return {
        direct: true,
        read: async (offset, length) => bytes.slice(offset, offset + length),
        write: async (offset, part) => {
          bytes.set(part, offset);
          return part.length;
        },
        sync: async () => {},
        close: async () => {},
        ...odd,
      };
    },
  };
}
const fails = (code: string) => Object.assign(new Error(code), { code });

describe("planning a write", () => {
  it("opens nothing for writing, and leaves the target as it was", async () => {
    writeFileSync(target(), old());
    const opened: string[] = [];
    const watching: DeviceOpener = {
      open: (path, mode) => {
        opened.push(mode);
        return realOpener.open(path, mode);
      },
    };
    const plan = await planWrite(request(), watching, now);
    expect(opened).toEqual(["read"]);
    expect(plan).toMatchObject({
      blocks: 683,
      blockSize: 256,
      stretch: 21,
      from: 0,
      target: { kind: "file", word: "target.img" },
    });
    expect(readFileSync(target()).equals(old())).toBe(true);
    expect(readdirSync(job.folder).some((name) => name.endsWith(".journal"))).toBe(false);
  });

  it("refuses a wrong size, a missing device, a folder, and what is larger than a flexible disk", async () => {
    writeFileSync(target(), new Uint8Array(image.length - 256));
    await expect(planWrite(request(), realOpener, now)).rejects.toMatchObject({ code: "wrong-size" });
    await expect(planWrite(request({ target: "/dev/no-such-drive" }), realOpener, now)).rejects.toMatchObject({
      code: "no-target",
    });
    await expect(planWrite(request({ target: folder }), realOpener, now)).rejects.toMatchObject({
      code: "not-a-target",
    });
    writeFileSync(join(folder, "large.img"), new Uint8Array(5 << 20));
    const large = request({ target: join(folder, "large.img") });
    await expect(planWrite(large, realOpener, now)).rejects.toMatchObject({ code: "named-once" });
    await expect(planWrite({ ...large, again: large.target }, realOpener, now)).rejects.toMatchObject({
      code: "wrong-size",
    });
  });
});

describe("writing", () => {
  it("saves what was there, writes, reads back and leaves a certificate", async () => {
    clean();
    writeFileSync(target(), old());
    const plan = await planWrite(request(), realOpener, now);
    const certificate = await runWrite(plan, realOpener, { now });
    expect(certificate).toMatchObject({
      verified: true,
      blocks: 683,
      bad: [],
      resumedFrom: 0,
      blocksVerified: 683,
      compared: true,
      sha256ReadBack: plan.image.sha256,
    });
    expect(readFileSync(target()).equals(image)).toBe(true);
    expect(readFileSync(join(job.folder, "images", certificate.copyOfBefore!)).equals(old())).toBe(true);
    const { entries } = await readLog(job);
    expect(entries.at(-1)!.entry).toMatchObject({ kind: "write-certificate", verified: true });
    expect(readdirSync(job.folder).filter((name) => name.endsWith(".journal"))).toEqual([]);
  });

  it("copes with a device that takes few bytes at a time", async () => {
    clean();
    const bytes = old();
    writeFileSync(target(), bytes);
    const small = device(bytes, {
      write: async (offset, part) => {
        const taken = part.subarray(0, 100);
        bytes.set(taken, offset);
        return taken.length;
      },
    });
    expect(await runWrite(await planWrite(request(), realOpener, now), small, { now })).toMatchObject({
      verified: true,
    });
    expect(Buffer.compare(bytes, image)).toBe(0);
  });

  it("tells a block that stays bad by what it holds, and goes on with the rest", async () => {
    clean();
    const bytes = old();
    writeFileSync(target(), bytes);
    const plan = await planWrite(request(), realOpener, now);
    const records = plan.volume!.entries.findIndex((each) => each.path === "ACCOUNTS");
    const hit = plan.volume!.entries[records]!.blocks[16]!;
    const scratched = device(bytes, {
      write: async (offset, part) => {
        if (offset <= hit * 256 && offset + part.length > hit * 256) throw fails("EIO");
        bytes.set(part, offset);
        return part.length;
      },
    });
    const certificate = await runWrite(plan, scratched, { now });
    expect(certificate.verified).toBe(false);
    expect(certificate.bad).toHaveLength(1);
    expect(certificate.blocksVerified).toBe(682);
    expect(certificate.bad[0]).toMatchObject({ block: hit, holds: "record 17 of ACCOUNTS" });
    expect(certificate.retries).toBeGreaterThan(2);
    const good = Buffer.from(image);
    good.fill(0xe5, hit * 256, hit * 256 + 256);
    expect(Buffer.compare(bytes, good)).toBe(0);
  });

  it("finds out a device that lies about success", async () => {
    clean();
    const bytes = old();
    writeFileSync(target(), bytes);
    const liar = device(bytes, {
      write: async (offset, part) => {
        if (offset < 100_000) bytes.set(part, offset);
        return part.length;
      },
    });
    const certificate = await runWrite(await planWrite(request(), realOpener, now), liar, { now });
    expect(certificate.verified).toBe(false);
    expect(certificate.bad.length).toBeGreaterThan(200);
  });

  it.each([
    ["ENOSPC", "full"],
    ["ENODEV", "went away"],
    ["EROFS", "write-protect"],
  ])("stops in one sentence on %s, keeps the journal, and resumes at the right block", async (code, words) => {
    clean();
    const bytes = old();
    writeFileSync(target(), bytes);
    const failing = device(bytes, {
      write: async (offset, part) => {
        if (offset > 90_000) throw fails(code);
        bytes.set(part, offset);
        return part.length;
      },
    });
    await expect(runWrite(await planWrite(request(), realOpener, now), failing, { now })).rejects.toThrow(words);
    await expect(planWrite(request(), realOpener, now)).rejects.toMatchObject({ code: "unfinished" });
    const plan = await planWrite(request({ resume: true }), realOpener, now);
    expect(plan.from).toBe(357);
    const first: number[] = [];
    const mended = device(bytes, {
      write: async (offset, part) => {
        first.push(offset);
        bytes.set(part, offset);
        return part.length;
      },
    });
    expect(await runWrite(plan, mended, { now })).toMatchObject({ verified: true, resumedFrom: 357 });
    expect(first[0]).toBe(357 * 256);
    expect(Buffer.compare(bytes, image)).toBe(0);
  });

  it("stops cleanly when told to, between two stretches", async () => {
    clean();
    const bytes = old();
    writeFileSync(target(), bytes);
    const stopping = new AbortController();
    const plan = await planWrite(request(), realOpener, now);
    const run = runWrite(plan, device(bytes), {
      now,
      signal: stopping.signal,
      onProgress: ({ stage, done }) => {
        if (stage === "writing" && done > 100) stopping.abort();
      },
    });
    await expect(run).rejects.toMatchObject({ code: "interrupted" });
    expect((await planWrite(request({ resume: true }), realOpener, now)).from).toBe(105);
  });

  it("stops while it saves what was there, and when the target goes away then, without a byte written", async () => {
    clean();
    const bytes = old();
    writeFileSync(target(), bytes);
    const plan = await planWrite(request(), realOpener, now);
    const stopping = new AbortController();
    const onProgress = () => stopping.abort();
    const writes: number[] = [];
    const odd = { write: async (offset: number) => writes.push(offset) };
    const stopped = runWrite(plan, device(bytes, odd), { now, onProgress, signal: stopping.signal });
    await expect(stopped).rejects.toMatchObject({ code: "stopped-early" });
    const gone = device(bytes, { ...odd, read: () => Promise.reject(fails("ENODEV")) });
    await expect(runWrite(plan, gone, { now })).rejects.toMatchObject({ code: "target-failed-early" });
    expect(writes).toEqual([]);
    expect(existsSync(fixture.journalOf("target.img"))).toBe(false);
  });

  it("keeps the journals of two targets of one name apart, and lists them", async () => {
    clean();
    const bytes = old();
    writeFileSync(target(), bytes);
    const stopping = new AbortController();
    const plan = await planWrite(request(), realOpener, now);
    const world = { now, signal: stopping.signal, onProgress: () => stopping.abort() };
    await expect(runWrite({ ...plan, copyTo: null }, device(bytes), world)).rejects.toMatchObject({
      code: "interrupted",
    });
    mkdirSync(join(folder, "other"), { recursive: true });
    const other = request({ target: join(folder, "other/target.img"), resume: true });
    await expect(planWrite(other, realOpener, now)).rejects.toMatchObject({ code: "nothing-to-resume" });
    expect((await planWrite({ ...other, resume: false }, realOpener, now)).from).toBe(0);
    expect(await interruptedWrites(job)).toMatchObject([{ head: { image: "disk.img", target: target() }, done: 21 }]);
    clean();
  });

  it("refuses a confirmed plan whose disk was changed meanwhile", async () => {
    writeFileSync(target(), old());
    const plan = await planWrite(request(), realOpener, now);
    await refuseChanged(plan, realOpener);
    writeFileSync(target(), image);
    await expect(refuseChanged(plan, realOpener)).rejects.toMatchObject({ code: "target-changed" });
  });

  it("will not resume with an image that has changed", async () => {
    clean();
    const bytes = old();
    writeFileSync(target(), bytes);
    const begun = await planWrite(request(), realOpener, now);
    const full = device(bytes, { write: () => Promise.reject(fails("ENOSPC")) });
    await expect(runWrite(begun, full, { now })).rejects.toThrow("full");
    writeFileSync(join(job.folder, "images/disk.img"), Buffer.from(image).fill(1, 500, 600));
    await expect(planWrite(request({ resume: true }), realOpener, now)).rejects.toMatchObject({ code: "other-image" });
    writeFileSync(join(job.folder, "images/disk.img"), image);
  });
});
