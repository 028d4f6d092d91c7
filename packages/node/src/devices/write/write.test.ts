import { type ChildProcess, execFileSync, spawn, spawnSync } from "node:child_process";
import { createHash } from "node:crypto";
import {
  copyFileSync,
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { buildChainedBlock, type TreeEntry } from "@rouse/core/volume";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type Job, openJob, readLog } from "../../store/index.ts";
import { runAdapter } from "./adapter.ts";
import { type BlockDevice, type DeviceOpener, realOpener } from "./device.ts";
import { interruptedWrites } from "./journal.ts";
import { planWrite, refuseChanged, runWrite, type WriteRequest } from "./session.ts";

const ROOT = fileURLToPath(new URL("../../../../..", import.meta.url));
let folder: string;
let job: Job;
let image: Uint8Array;
const target = () => join(folder, "target.img");
const now = () => new Date("2026-06-06T10:00:00Z");

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), "rouse-write-"));
  mkdirSync(join(folder, "job/images"), { recursive: true });
  writeFileSync(join(folder, "job/bench.yaml"), "rouse: 1\nname: x\n");
  const records: TreeEntry = {
    path: "ACCOUNTS",
    type: "file",
    bytes: new Uint8Array(254 * 78).fill(66),
    wishes: { kind: "records", recordLength: 254 },
  };
  image = buildChainedBlock([{ path: "FIRST", type: "file", bytes: new Uint8Array(30_000).fill(65) }, records], {
    layout: "35-track",
    name: "DATA",
    id: "DA",
  });
  writeFileSync(join(folder, "job/images/disk.img"), image);
  job = await openJob(join(folder, "job"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const old = () => Buffer.alloc(image.length, 0xe5);
const request = (more: Partial<WriteRequest> = {}): WriteRequest => ({
  job,
  image: "disk.img",
  target: target(),
  ...more,
});
/** Where the journal of a file in this folder lies. */
const journalOf = (name: string): string => {
  const mark = createHash("sha256").update(join(folder, name)).digest("hex").slice(0, 8);
  return join(job.folder, `write-${name}-${mark}.journal`);
};
const clean = () => {
  for (const name of readdirSync(job.folder)) if (name.endsWith(".journal")) rmSync(join(job.folder, name));
};

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
    expect(existsSync(journalOf("target.img"))).toBe(false);
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

const sizeOf = (path: string): number => statSync(path, { throwIfNoEntry: false })?.size ?? 0;

describe("a process killed at any moment", () => {
  const KILLS = Number(process.env.ROUSE_KILLS ?? 16);
  it(
    `leaves what --resume makes whole (${KILLS} kills)`,
    async () => {
      clean();
      // A copy: the command may be built anew meanwhile.
      const rouse = join(folder, "command/bin/rouse.js");
      for (const part of ["bin", "dist"])
        cpSync(join(ROOT, "packages/node", part), join(folder, "command", part), { recursive: true });
      const disk = join(folder, "killed.img");
      const journal = journalOf("killed.img");
      const args = (...more: string[]) => [
        rouse,
        "write",
        job.folder,
        "disk.img",
        disk,
        "--no-copy",
        "--confirm",
        "killed.img",
        ...more,
      ];
      const ended = (child: ChildProcess) => new Promise<number | null>((resolve) => child.on("exit", resolve));
      let resumed = 0;
      let state = 12_345;
      for (let run = 0; run < KILLS; run++) {
        clean();
        rmSync(disk, { force: true });
        state = (Math.imul(state, 1_103_515_245) + 12_345) >>> 0;
        const child = spawn(process.execPath, args(), { stdio: "ignore" });
        const end = ended(child);
        // Most kills fall into the writing, at a random length of the journal; some come at any time before or after.
        const length = run % 8 === 0 ? Number.POSITIVE_INFINITY : 300 + ((state >>> 8) % 400);
        const late = Date.now() + ((state >>> 8) % 1200);
        while (child.exitCode === null && sizeOf(journal) < length && (run % 8 > 0 || Date.now() < late))
          await new Promise((tick) => setTimeout(tick, 1));
        child.kill("SIGKILL");
        await end;
        const interrupted = existsSync(journal);
        if (interrupted) resumed++;
        const again = spawnSync(process.execPath, interrupted ? args("--resume") : args(), { encoding: "utf8" });
        expect(again.status, `${again.stdout}${again.stderr}`).toBe(0);
        expect(Buffer.compare(readFileSync(disk), image)).toBe(0);
      }
      console.log(`killed ${KILLS} times, ${resumed} of them with a journal to resume from`);
      expect(resumed).toBeGreaterThan(0);
    },
    60_000 + KILLS * 10_000,
  );
});

describe("a real block device", () => {
  const loop = (() => {
    const file = join(mkdtempSync(join(tmpdir(), "rouse-loop-")), "disk.img");
    try {
      writeFileSync(file, new Uint8Array(368_640).fill(0xf6));
      return {
        file,
        path: execFileSync("losetup", ["-f", "--show", file], {
          encoding: "utf8",
          stdio: ["ignore", "pipe", "ignore"],
        }).trim(),
      };
    } catch {
      return undefined;
    }
  })();
  afterAll(() => {
    if (loop) execFileSync("losetup", ["-d", loop.path]);
  });

  it.skipIf(!loop)("is written, read back past the cache, and refused while it is in use", async () => {
    clean();
    const { file, path } = loop!;
    execFileSync("mkfs.fat", ["-C", join(folder, "fat.img"), "360"], {
      stdio: "ignore",
      env: { ...process.env, PATH: `${process.env.PATH}:/usr/sbin` },
    });
    copyFileSync(join(folder, "fat.img"), join(job.folder, "images/fat.img"));
    const plan = await planWrite(request({ image: "fat.img", target: path, withoutCopy: true }), realOpener, now);
    expect(plan.target).toMatchObject({ kind: "block device", size: 368_640, mounted: [], word: path.slice(5) });
    const certificate = await runWrite(plan, realOpener, { now });
    expect(certificate).toMatchObject({ verified: true, pastCache: true });
    expect(readFileSync(file).equals(readFileSync(join(folder, "fat.img")))).toBe(true);
    // Whoever claims it first keeps it (open(2), O_EXCL), and a mount claims it.
    const holding = await realOpener.open(path, "write");
    await expect(realOpener.open(path, "write")).rejects.toMatchObject({ code: "busy" });
    await holding.close();
    // The file under the loop device is in use by it.
    await expect(planWrite(request({ image: "fat.img", target: file }), realOpener, now)).rejects.toMatchObject({
      code: "mounted",
    });
  });
});

describe("an adapter's program", () => {
  const node = (code: string, ...args: string[]) => [process.execPath, "-e", code, ...args] as [string, ...string[]];

  it("gets its placeholders as arguments that no shell sees, and tells its progress", async () => {
    const shares: number[] = [];
    const { output } = await runAdapter(
      {
        command: node(
          "console.log('track 20/80'); console.log(process.argv.slice(1).join('|'))",
          "{image}",
          "x{drive}",
        ),
        progress: "track (\\d+)/(\\d+)",
        limit: 20,
      },
      { image: "/a b; rm -rf $HOME", drive: "1" },
      { onShare: (share) => shares.push(share) },
    );
    expect(output).toContain("/a b; rm -rf $HOME|x1");
    expect(shares[0]).toBe(0.25);
  });

  it("is stopped with its children when it hangs, and told when it fails or is not there", async () => {
    await expect(runAdapter({ command: node("setInterval(() => {}, 1000)"), limit: 0.3 }, {})).rejects.toMatchObject({
      code: "adapter-hangs",
    });
    await expect(
      runAdapter({ command: node("console.error('no disk'); process.exit(3)"), limit: 20 }, {}),
    ).rejects.toThrow("ended with 3: no disk");
    await expect(runAdapter({ command: ["/no/such/program"], limit: 20 }, {})).rejects.toMatchObject({
      code: "no-adapter",
    });
    await expect(runAdapter({ command: node("0", "{imagine}"), limit: 20 }, { image: "x" })).rejects.toMatchObject({
      code: "no-placeholder",
    });
  });
});
