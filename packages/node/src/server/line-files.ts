import { mkdir } from "node:fs/promises";
import { join } from "node:path";
import { InputError } from "@rouse/core/errors";
import { CaptureFile } from "../devices/line/index.ts";
import { type Job, listFiles, readImage, resolveInside } from "../store/index.ts";
import type { SettingsTold } from "./line-types.ts";

const RECEIVED_FOLDER = "received";
const CAPTURES_FOLDER = "captures";

async function folderOf(job: Job, name: string): Promise<string> {
  const path = await resolveInside(job.folder, name);
  await mkdir(path, { recursive: true });
  return path;
}

/** What the line keeps in the job folder, and takes from it. */
export interface LineFiles {
  /** Begins a capture in `captures/`, named by the time. */
  capture(port: string, settings: SettingsTold): Promise<{ name: string; file: CaptureFile }>;
  /** The folder that received files go into. */
  receivedFolder(): Promise<string>;
  received(): Promise<readonly { name: string; size: number }[]>;
  receivedBytes(name: string): Promise<Uint8Array>;
  imageBytes(name: string): Promise<Uint8Array>;
}

export function lineFiles(job: Job, now: () => Date, clock: () => number): LineFiles {
  return {
    async capture(port, { rate, frame }) {
      const folder = await folderOf(job, CAPTURES_FOLDER);
      const started = now().toISOString();
      const stem = `line-${started.slice(0, 19).replaceAll(":", "-")}`;
      for (let count = 1; ; count++) {
        const name = `${stem}${count === 1 ? "" : `-${count}`}.jsonl`;
        try {
          const file = await CaptureFile.create(join(folder, name), { started, port, rate, frame }, clock);
          return { name: `${CAPTURES_FOLDER}/${name}`, file };
        } catch (error) {
          if (!(error instanceof InputError) || error.code !== "file-exists") throw error;
        }
      }
    },
    receivedFolder: () => folderOf(job, RECEIVED_FOLDER),
    received: async () => (await listFiles(job, RECEIVED_FOLDER)).map(({ name, size }) => ({ name, size })),
    receivedBytes: async (name) =>
      (await readImage(await resolveInside(job.folder, `${RECEIVED_FOLDER}/${name}`))).bytes,
    imageBytes: async (name) => (await readImage({ job, name })).bytes,
  };
}

/** A name that a received file may have: no folder, nothing hidden. */
export function safeFileName(name: string): string {
  const trimmed = name.trim();
  if (/^[^\p{C}/\\.][^\p{C}/\\]{0,99}$/u.test(trimmed)) return trimmed;
  throw new InputError("bad-name", "Name the file without a folder, in 100 characters at most.");
}
