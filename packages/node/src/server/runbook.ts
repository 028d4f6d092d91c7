/** The run book of a job as pages see it: what the bench needs, what the log says was done, and entries that come in. */
import { createHash } from "node:crypto";
import { mkdir, stat } from "node:fs/promises";
import { join } from "node:path";
import { visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import {
  acceptEntry,
  evidenceIn,
  makeRunBook,
  paperHtml,
  type RunBook,
  type StepEntry,
  stateOf,
} from "@rouse/core/runbook";
import {
  appendLog,
  type Job,
  listFiles,
  openInside,
  readLog,
  readWhole,
  resolveInside,
  writeNew,
} from "../store/index.ts";
import { checkedJobs } from "./job-timing.ts";

interface RunBookTold {
  /** Names the job: entries that a page kept for another one do not belong here. */
  job: string;
  book: RunBook;
  /** Entries of the log that speak of the run book, for `stateOf`. */
  log: ReturnType<typeof evidenceIn>;
  /** What of the log could not be read. */
  unread: readonly string[];
}

interface Taken {
  /** Names of entries that are in the log now; those of `known` were there before. */
  added: readonly string[];
  known: readonly string[];
  refused: readonly { id: string; sentence: string }[];
}

type Given = Readonly<Record<string, unknown>>;

export interface RunBookRoom {
  read(): Promise<RunBookTold>;
  /** Adds entries; one that is in the log already is not added again. `pageNow`: the page's clock, ms since 1970. */
  add(given: readonly Given[], pageNow: number): Promise<Taken>;
  /** Keeps a photograph in `dossier/photos/`, whole, and then its entry. */
  addPhoto(given: Given, pageNow: number, bytes: Uint8Array): Promise<Taken>;
  /** Adds a file of the job, `captures/…` or `dossier/…`, as evidence. */
  attach(given: Given, pageNow: number, path: string): Promise<Taken>;
  /** Files that can be attached. */
  files(): Promise<readonly string[]>;
  /** A photograph that the log names, with its type. */
  photo(path: string): Promise<{ bytes: Uint8Array; type: string }>;
  paper(): Promise<string>;
  /** Tells every change of the log until it is called off. */
  follow(told: () => void): () => void;
  /** Something of the job's files changed. */
  changed(): void;
  close(): void;
}

export const PHOTO_LIMIT = 4 * 1024 * 1024;
const PHOTOS = "dossier/photos";
const ATTACHED = ["captures", "dossier"];
const FILE_LIMIT = 256 * 1024 * 1024;
/** The log is looked at this often while anyone follows it; ms. */
const LOOK = 400;
/** Clocks nearer than this are taken to agree; ms. */
const SAME_CLOCK = 2_000;

/** By their first bytes: JPEG (ITU-T T.81), PNG (ISO/IEC 15948), WebP (RFC 9649). */
const KINDS: readonly { type: string; ending: string; is(bytes: Uint8Array): boolean }[] = [
  { type: "image/jpeg", ending: "jpg", is: (b) => b[0] === 0xff && b[1] === 0xd8 && b[2] === 0xff },
  {
    type: "image/png",
    ending: "png",
    is: (b) => Buffer.from(b.subarray(0, 8)).toString("latin1") === "\x89PNG\r\n\x1a\n",
  },
  {
    type: "image/webp",
    ending: "webp",
    is: (b) => /^RIFF[\s\S]{4}WEBP$/.test(Buffer.from(b.subarray(0, 12)).toString("latin1")),
  },
];

const sha256 = (bytes: Uint8Array | string): string => createHash("sha256").update(bytes).digest("hex");

/** `dossier/photos/2026-06-06-inspect-case-ID.jpg`: the same for the same entry, however often it is sent. */
function photoPath({ step, at, id }: StepEntry, ending: string): string {
  const words = step
    .replace(/[^A-Za-z0-9]+/g, "-")
    .replace(/^-|-$/g, "")
    .slice(0, 40);
  return `${PHOTOS}/${at?.slice(0, 10)}-${words || "step"}-${id}.${ending}`;
}

export function createRunBook(job: Job, now: () => Date): RunBookRoom {
  const checkedNow = checkedJobs(job);
  const followers = new Set<() => void>();
  const jobName = sha256(job.folder).slice(0, 16);
  let made: { key: string; book: RunBook } | undefined;
  let timer: NodeJS.Timeout | undefined;
  let stamp: string | undefined;
  let turn: Promise<unknown> = Promise.resolve();

  const book = async (): Promise<RunBook> => {
    const { key, checked } = await checkedNow();
    if (made?.key === key) return made.book;
    const { bench, chain, images } = checked;
    if (!bench) throw new InputError("bad-bench", "The bench file cannot be used; the page Bench file shows why.");
    made = { key, book: makeRunBook(bench, images, chain) };
    return made.book;
  };
  /** What was done is kept even while the bench file is being rewritten. */
  const bookOrLast = (): Promise<RunBook> =>
    book().catch((error: unknown) => {
      if (!(error instanceof InputError)) throw error;
      return made?.book ?? { bench: "", steps: [] };
    });
  /** One after the other, so that an entry that comes twice at once is seen by the second. */
  const inTurn = <T>(what: () => Promise<T>): Promise<T> => {
    const result = turn.then(what, what);
    turn = result.catch(() => undefined);
    return result;
  };
  const tell = (): void => {
    for (const told of followers) told();
  };
  const logStamp = (): Promise<string> =>
    stat(join(job.folder, "log.jsonl"), { bigint: true }).then(
      ({ ino, size }) => `${ino}-${size}`,
      () => "none",
    );
  const look = async (): Promise<void> => {
    const found = await logStamp();
    if (stamp !== undefined && found !== stamp) tell();
    stamp = found;
  };

  /** Adds entries, each with what `prepare` makes of it at the last moment. */
  const take = (
    given: readonly Given[],
    pageNow: number,
    prepare = async (entry: StepEntry) => entry,
  ): Promise<Taken> =>
    inTurn(async () => {
      const [{ entries }, steps] = await Promise.all([readLog(job), bookOrLast()]);
      const there = new Set(entries.flatMap(({ entry }) => (entry.kind === "run-book" ? [entry.id] : [])));
      const difference = Number.isFinite(pageNow) ? now().getTime() - pageNow : 0;
      const shift = Math.abs(difference) < SAME_CLOCK ? 0 : difference;
      const taken = { added: [] as string[], known: [] as string[], refused: [] as { id: string; sentence: string }[] };
      for (const each of given) {
        const id = String(each.id);
        if (there.has(id)) {
          taken.known.push(id);
          continue;
        }
        let entry: StepEntry;
        try {
          entry = acceptEntry(each, steps, shift);
        } catch (error) {
          if (!(error instanceof InputError)) throw error;
          taken.refused.push({ id: visible(id.slice(0, 64)), sentence: error.message });
          continue;
        }
        // Nothing is done later than now, or it would be the last word for ever.
        if (entry.at !== undefined && Date.parse(entry.at) > now().getTime())
          entry = { ...entry, at: now().toISOString() };
        await appendLog(job, { ...(await prepare(entry)) }, now);
        there.add(id);
        taken.added.push(id);
      }
      if (taken.added.length > 0) tell();
      stamp = await logStamp();
      return taken;
    });

  /** Puts the photograph into its place; there already, it must be the same. */
  const keepPhoto = async (path: string, bytes: Uint8Array): Promise<void> => {
    await mkdir(await resolveInside(job.folder, PHOTOS), { recursive: true });
    try {
      await writeNew(await resolveInside(job.folder, path), bytes);
    } catch (error) {
      if (!(error instanceof InputError) || error.code !== "target-there") throw error;
      if (sha256(await readOf(path, PHOTO_LIMIT)) !== sha256(bytes)) throw error;
    }
  };
  const readOf = async (path: string, limit: number): Promise<Uint8Array> => {
    const handle = await openInside(job.folder, path);
    try {
      return await readWhole(handle, path, limit);
    } finally {
      await handle.close();
    }
  };
  const files = async (): Promise<string[]> => {
    const lists = await Promise.all(
      ATTACHED.map(async (folder) => (await listFiles(job, folder)).map(({ name }) => `${folder}/${name}`)),
    );
    return lists.flat().filter((each) => !each.startsWith(`${PHOTOS}/`));
  };

  return {
    async read() {
      const [steps, { entries, bad, torn }] = await Promise.all([book(), readLog(job)]);
      const unread = [
        ...bad.map((each) => each.sentence),
        ...(torn ? [`The last line of the log is torn (${torn.length} bytes); it is not counted.`] : []),
      ];
      return { job: jobName, book: steps, log: evidenceIn(entries), unread };
    },
    add: (given, pageNow) => take(given, pageNow),
    async addPhoto(given, pageNow, bytes) {
      const kind = KINDS.find(({ is }) => is(bytes));
      if (!kind)
        throw new InputError("not-a-photo", "This is no photograph of a kind that is kept: JPEG, PNG or WebP.");
      if (bytes.length > PHOTO_LIMIT) throw new InputError("too-large", "The photograph is larger than 4 MiB.");
      return take([{ ...given, what: "file" }], pageNow, async (entry) => {
        const path = photoPath(entry, kind.ending);
        await keepPhoto(path, bytes);
        return { ...entry, file: { path, sha256: sha256(bytes) } };
      });
    },
    async attach(given, pageNow, path) {
      if (!(await files()).includes(path))
        throw new InputError("no-such-file", `${visible(path)} is not a file in captures/ or dossier/ of this job.`);
      const hash = sha256(await readOf(path, FILE_LIMIT));
      return take([{ ...given, what: "file" }], pageNow, async (entry) => ({ ...entry, file: { path, sha256: hash } }));
    },
    files,
    async photo(path) {
      const { entries } = await readLog(job);
      const named = entries.some(
        ({ entry }) => entry.kind === "run-book" && (entry.file as Given | undefined)?.path === path,
      );
      if (!named) throw new InputError("no-such-file", "The log names no such file.");
      const bytes = await readOf(path, FILE_LIMIT);
      const kind = KINDS.find(({ is }) => is(bytes));
      if (!kind) throw new InputError("not-a-photo", `${visible(path)} is no photograph.`);
      return { bytes, type: kind.type };
    },
    async paper() {
      const [steps, { entries }] = await Promise.all([book(), readLog(job)]);
      return paperHtml(steps, stateOf(steps, entries).steps);
    },
    follow(told) {
      followers.add(told);
      if (timer === undefined) {
        stamp = undefined;
        // A look that fails is made again at the next turn.
        timer = setInterval(() => void look().catch(() => undefined), LOOK);
        timer.unref();
      }
      return () => {
        followers.delete(told);
        if (followers.size > 0) return;
        clearInterval(timer);
        timer = undefined;
      };
    },
    changed: tell,
    close() {
      clearInterval(timer);
      followers.clear();
    },
  };
}
