/** The show of a job as pages see it: its script, its captured sessions, and where a running session stands. */
import { createHash } from "node:crypto";
import { InputError } from "@rouse/core/errors";
import { type PlannedShow, planShow, readCapture, type Script, type Stretch } from "@rouse/core/show";
import { readScript } from "@rouse/core/show/script";
import { type Job, listFiles, openInside, readWhole, resolveInside, writeWhole } from "../store/index.ts";
import { checkedJobs } from "./job-timing.ts";

interface ScriptText {
  text: string;
  /** SHA-256 of the file; empty where there is none yet. */
  hash: string;
}

export interface PlanTold {
  plan: PlannedShow;
  /** Time of day at which it must be over, in seconds from midnight. */
  ends: number | null;
  spare: number;
}

interface ListedCapture {
  name: string;
  size: number;
  stamp: string;
  /** Of its first line; null where it is no session capture. */
  head: { started: string; rate: number; frame: string; about?: string } | null;
}

export interface ShowRoom {
  script(): Promise<ScriptText>;
  /** Throws `bench-changed` where the file is no longer the one that `expectedHash` names. */
  save(text: string, expectedHash: string): Promise<ScriptText>;
  /** What the script, as it stands or as given, comes to; with waits that a rehearsal had, scene by scene. Throws an `InputError` that names line and key. */
  plan(text?: string, waits?: readonly (Stretch | undefined)[]): Promise<PlanTold>;
  captures(): Promise<readonly ListedCapture[]>;
  capture(name: string): Promise<Uint8Array>;
  readScript(): Promise<Script>;
}

const SCRIPT_FILE = "show.yaml";
const SCRIPT_LIMIT = 1 << 18;
export const CAPTURES = "captures";
const CAPTURE_LIMIT = 256 * 1024 * 1024;
const HEAD_LIMIT = 4096;

const sha256 = (bytes: Uint8Array): string => createHash("sha256").update(bytes).digest("hex");

export function createShow(job: Job): ShowRoom {
  const checkedNow = checkedJobs(job);
  const heads = new Map<string, ListedCapture["head"]>();
  let saving: Promise<unknown> = Promise.resolve();

  const bytesOf = async (path: string, limit: number): Promise<Uint8Array> => {
    const handle = await openInside(job.folder, path);
    try {
      return await readWhole(handle, path, limit);
    } finally {
      await handle.close();
    }
  };
  const scriptBytes = (): Promise<Uint8Array | undefined> =>
    bytesOf(SCRIPT_FILE, SCRIPT_LIMIT).catch((error: unknown) => {
      if (error instanceof InputError && error.code === "no-such-file") return undefined;
      throw error;
    });
  const script = async (): Promise<ScriptText> => {
    const bytes = await scriptBytes();
    return bytes ? { text: new TextDecoder().decode(bytes), hash: sha256(bytes) } : { text: "", hash: "" };
  };
  const headOf = async (name: string): Promise<ListedCapture["head"]> => {
    const handle = await openInside(job.folder, `${CAPTURES}/${name}`);
    try {
      const bytes = new Uint8Array(HEAD_LIMIT);
      const { bytesRead } = await handle.read(bytes, 0, HEAD_LIMIT, 0);
      const end = bytes.subarray(0, bytesRead).indexOf(0x0a);
      const { started, rate, frame, about } = readCapture(bytes.subarray(0, end + 1)).head;
      return { started, rate, frame, ...(about === undefined ? {} : { about }) };
    } catch (error) {
      if (error instanceof InputError) return null;
      throw error;
    } finally {
      await handle.close();
    }
  };

  return {
    script,
    save(text, expectedHash) {
      const bytes = new TextEncoder().encode(text);
      const save = async (): Promise<ScriptText> => {
        if (bytes.length > SCRIPT_LIMIT)
          throw new InputError("too-large", `${SCRIPT_FILE} would be larger than 256 KiB.`);
        const demandSame = async (): Promise<void> => {
          if ((await script()).hash === expectedHash) return;
          throw new InputError(
            "bench-changed",
            `${SCRIPT_FILE} was changed by someone else since it was read; not saved.`,
          );
        };
        await demandSame();
        await writeWhole(await resolveInside(job.folder, SCRIPT_FILE), bytes, demandSame);
        return { text, hash: sha256(bytes) };
      };
      const result = saving.then(save, save);
      saving = result.catch(() => undefined);
      return result;
    },
    async plan(given, waits = []) {
      const text = given ?? (await script()).text;
      if (text === "") throw new InputError("no-script", `This job has no ${SCRIPT_FILE} yet.`);
      const read = readScript(text, SCRIPT_FILE);
      const { bench, images } = (await checkedNow()).checked;
      if (!bench) throw new InputError("bad-bench", "The bench file cannot be used; the page Bench file shows why.");
      const name = (bench.show?.image ?? bench.images[0])?.name;
      const plan = planShow(
        read,
        bench,
        images.find((each) => each.name === name && each.volume !== undefined),
        waits,
      );
      return { plan, ends: read.ends ?? null, spare: read.spare };
    },
    async captures() {
      const files = (await listFiles(job, CAPTURES)).filter(({ name, problem }) => /\.jsonl$/i.test(name) && !problem);
      return Promise.all(
        files.map(async ({ name, size, stamp }) => {
          // The first line of a file that is only added to stays as it is.
          const key = `${name} ${stamp.split("-")[0]}`;
          let head = heads.get(key) ?? null;
          if (head === null) {
            head = await headOf(name);
            if (heads.size > 500) heads.clear();
            heads.set(key, head);
          }
          return { name, size, stamp, head };
        }),
      );
    },
    capture: (name) => bytesOf(`${CAPTURES}/${name}`, CAPTURE_LIMIT),
    readScript: async () => readScript((await script()).text, SCRIPT_FILE),
  };
}
