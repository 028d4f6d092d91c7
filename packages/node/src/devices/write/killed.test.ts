import { type ChildProcess, spawn, spawnSync } from "node:child_process";
import { cpSync, existsSync, readFileSync, rmSync, statSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { Job } from "../../store/index.ts";
import { type WriteFixture, writeFixture } from "./fixture.ts";

const ROOT = fileURLToPath(new URL("../../../../..", import.meta.url));

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
      const journal = fixture.journalOf("killed.img");
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
