import { execFileSync } from "node:child_process";
import { mkdirSync, readFileSync, truncateSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { buildFat12 } from "@rouse/core/volume";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { Job } from "../../store/index.ts";
import { realOpener } from "./device.ts";
import { now, type WriteFixture, writeFixture } from "./fixture.ts";
import { planWrite, runWrite, type WriteRequest } from "./session.ts";

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
const request = (more: Partial<WriteRequest> = {}): WriteRequest => ({
  job,
  image: "disk.img",
  target: target(),
  ...more,
});
/** A program of the host as root runs it; undefined where the machine does not allow it. */
function host(program: string, ...args: string[]): string | undefined {
  try {
    const env = { ...process.env, PATH: `${process.env.PATH}:/usr/sbin` };
    return execFileSync(program, args, { encoding: "utf8", stdio: ["ignore", "pipe", "ignore"], env }).trim();
  } catch {
    return undefined;
  }
}

describe("a real block device", () => {
  /** A disk of 360 KiB with a file that fills most of it. */
  const filled = () =>
    buildFat12([{ path: "BIG.BIN", type: "file", bytes: new Uint8Array(340_000).fill(0x42), wishes: {} }], {
      format: "360K",
    });

  it("is written, read back past the cache, and refused while it is in use", async ({ skip }) => {
    clean();
    const file = join(folder, "loop.img");
    writeFileSync(file, new Uint8Array(368_640).fill(0xf6));
    const path = host("losetup", "-f", "--show", file);
    if (!path) return skip();
    try {
      writeFileSync(join(job.folder, "images/fat.img"), filled());
      const plan = await planWrite(request({ image: "fat.img", target: path, withoutCopy: true }), realOpener, now);
      expect(plan.target).toMatchObject({ kind: "block device", size: 368_640, mounted: [], word: path.slice(5) });
      const certificate = await runWrite(plan, realOpener, { now });
      expect(certificate).toMatchObject({ verified: true, pastCache: true });
      expect(readFileSync(file).equals(filled())).toBe(true);
      // Whoever claims it first keeps it (open(2), O_EXCL), and a mount claims it.
      const holding = await realOpener.open(path, "write");
      await expect(realOpener.open(path, "write")).rejects.toMatchObject({ code: "busy" });
      await holding.close();
      // The file under the loop device is in use by it.
      await expect(planWrite(request({ image: "fat.img", target: file }), realOpener, now)).rejects.toMatchObject({
        code: "mounted",
      });
    } finally {
      host("losetup", "-d", path);
    }
  });

  it("is refused while it is mounted", async ({ skip }) => {
    const file = join(folder, "mounted.img");
    const at = join(folder, "mount");
    writeFileSync(file, new Uint8Array(368_640));
    mkdirSync(at, { recursive: true });
    if (host("mkfs.ext2", "-q", "-F", file) === undefined) return skip();
    const path = host("losetup", "-f", "--show", file);
    if (!path) return skip();
    try {
      if (host("mount", "-t", "ext2", "-o", "ro", path, at) === undefined) return skip();
      writeFileSync(join(job.folder, "images/fat.img"), filled());
      await expect(planWrite(request({ image: "fat.img", target: path }), realOpener, now)).rejects.toThrow(
        `${path} is in use (${at}); unmount it first`,
      );
    } finally {
      host("umount", at);
      host("losetup", "-d", path);
    }
  });

  it("with blocks that fail for real is written around them, and they are told by the file they hit", async ({
    skip,
  }) => {
    clean();
    // A disk over a file without room: the kernel answers EIO where the file cannot grow.
    const room = join(folder, "room");
    mkdirSync(room, { recursive: true });
    if (host("mount", "-t", "tmpfs", "-o", "size=320k", "tmpfs", room) === undefined) return skip();
    let path: string | undefined;
    try {
      const file = join(room, "disk.img");
      writeFileSync(file, "");
      truncateSync(file, 368_640);
      path = host("losetup", "-f", "--show", file);
      if (!path) return skip();
      writeFileSync(join(job.folder, "images/fat.img"), filled());
      const plan = await planWrite(request({ image: "fat.img", target: path, withoutCopy: true }), realOpener, now);
      const certificate = await runWrite(plan, realOpener, { now });
      const { bad } = certificate;
      expect(certificate.verified).toBe(false);
      expect(bad.length).toBeGreaterThan(30);
      expect(bad.length).toBeLessThan(200);
      expect(bad[0]!.holds).toContain("BIG.BIN");
      expect(certificate.retries).toBeGreaterThan(bad.length);
      const disk = readFileSync(file);
      const whole = Buffer.from(filled());
      const part = (bytes: Buffer, block: number) => bytes.subarray(block * 512, block * 512 + 512);
      const lost = new Set(bad.map(({ block }) => block));
      for (let block = 0; block < 720; block++)
        if (!lost.has(block)) expect(part(disk, block).equals(part(whole, block))).toBe(true);
    } finally {
      if (path) host("losetup", "-d", path);
      host("umount", room);
    }
  });
});

describe("a target on a file system that is full", () => {
  it("is told in one sentence, and gone on with when there is room", async ({ skip }) => {
    clean();
    const room = join(folder, "full");
    mkdirSync(room, { recursive: true });
    if (host("mount", "-t", "tmpfs", "-o", "size=100k", "tmpfs", room) === undefined) return skip();
    try {
      const to = join(room, "copy.img");
      const plan = await planWrite(request({ target: to }), realOpener, now);
      await expect(runWrite(plan, realOpener, { now })).rejects.toThrow("The target is full before the image ends.");
      expect(host("mount", "-o", "remount,size=400k", room)).toBeDefined();
      const rest = await planWrite(request({ target: to, resume: true }), realOpener, now);
      expect(rest.from).toBeGreaterThan(300);
      expect(await runWrite(rest, realOpener, { now })).toMatchObject({ verified: true, resumedFrom: rest.from });
      expect(Buffer.compare(readFileSync(to), image)).toBe(0);
    } finally {
      host("umount", room);
    }
  });
});
