import { entryOf, type Step, type StepEntry } from "@rouse/core/runbook/state";
import { ask, ServerProblem, sending, sentenceOf } from "../../job/api.ts";
import { type Connection, followSocket } from "../../job/live.ts";
import type { Keeper } from "./keep.ts";
import type { Kept, RunBookTold, Taken } from "./types.ts";

export interface RunBookState {
  told: RunBookTold | null;
  /** Entries of this job that the server does not have yet, the oldest first. */
  kept: readonly Kept[];
  /** Entries that wait here for another job. */
  foreign: number;
  connection: Connection;
  /** The server does not know this phone (any more). */
  unpaired: boolean;
  problem: string | null;
  /** Whether what waits outlives this page. */
  lasts: boolean;
}

/** What a person did at a step. */
export interface Deed {
  what: "tick" | "note" | "file" | "reopen";
  reading?: string;
  note?: string;
  photo?: Blob;
  path?: string;
}

export interface RunBookStore {
  get(): RunBookState;
  subscribe(told: () => void): () => void;
  /** Reads and follows; gives what ends that. */
  start(): () => void;
  /** Keeps what was done, and sends it as soon as that can be. Throws an `InputError` where a reading cannot be read. */
  add(step: Step, deed: Deed): Promise<{ id: string; within?: boolean }>;
  /** Puts away an entry that the server refused. */
  forget(id: string): Promise<void>;
  /** Sends what waits, and reads anew. */
  sync(): Promise<void>;
}

const MOST_AT_ONCE = 100;
const FIRST_WAIT = 1_000;
const LONGEST_WAIT = 15_000;
/** An answer that takes longer is not waited for; ms. */
const PATIENCE = 12_000;
const PHOTO_PATIENCE = 120_000;
/** Answers after which sending the same again is of no use. */
const FINAL = new Set([
  "bad-request",
  "bad-entry",
  "not-a-photo",
  "too-large",
  "too-many",
  "target-there",
  "no-such-file",
  "outside-folder",
]);

/** `randomUUID` is there over TLS only. */
const newId = (): string =>
  Array.from(crypto.getRandomValues(new Uint8Array(12)), (each) => each.toString(16).padStart(2, "0")).join("");

const base64 = (blob: Blob): Promise<string> =>
  new Promise((resolve, reject) => {
    const reader = new FileReader();
    reader.onload = () => resolve(String(reader.result).replace(/^[^,]*,/, ""));
    reader.onerror = () => reject(reader.error);
    reader.readAsDataURL(blob);
  });

export function createRunBookStore(opening: Promise<Keeper>): RunBookStore {
  let state: RunBookState = {
    told: null,
    kept: [],
    foreign: 0,
    connection: "connecting",
    unpaired: false,
    problem: null,
    lasts: true,
  };
  let all: Kept[] = [];
  let opened: Promise<void> | undefined;
  let syncing: Promise<void> | undefined;
  let again = false;
  let timer: ReturnType<typeof setTimeout> | undefined;
  let wait = FIRST_WAIT;
  let isShown = false;
  let leave: (() => void) | undefined;
  const listeners = new Set<() => void>();

  const set = (change: Partial<RunBookState>): void => {
    state = { ...state, ...change };
    for (const told of listeners) told();
  };
  const setKept = (next: Kept[], change: Partial<RunBookState> = {}): void => {
    all = next.sort((one, other) => one.order - other.order);
    const job = (change.told ?? state.told)?.job;
    const mine = all.filter((each) => each.job === job);
    set({ ...change, kept: mine, foreign: job === undefined ? 0 : all.length - mine.length });
  };
  const open = (): Promise<void> => {
    opened ??= opening.then(async (keeper) => setKept([...(await keeper.all()), ...all], { lasts: keeper.lasts }));
    return opened;
  };
  const keep = async (kept: Kept): Promise<void> => {
    setKept([...all.filter(({ id }) => id !== kept.id), kept]);
    await (await opening).put(kept);
  };
  const drop = async (id: string): Promise<void> => {
    await (await opening).drop(id);
    setKept(all.filter((each) => each.id !== id));
  };

  /** Changes are told over a socket, which is there only for those who may read. */
  const follow = (): void => {
    if (!isShown) return;
    let hadLost = false;
    leave ??= followSocket("runbook/live", {
      hear: () => void sync(),
      connection: (connection) => {
        if (connection === "lost") {
          hadLost = true;
          // Whether it is really gone, or only the socket, shows when it is asked.
          void sync();
        } else if (hadLost) void sync();
      },
    });
  };
  const read = async (): Promise<void> => {
    const told = await ask<RunBookTold>("runbook", { signal: AbortSignal.timeout(PATIENCE) });
    follow();
    setKept(all, { told, problem: null, unpaired: false, connection: "open" });
  };
  const post = async (path: string, body: object, patience: number): Promise<Taken> =>
    ask<Taken>(`runbook/${path}`, sending("POST", { now: Date.now(), ...body }, AbortSignal.timeout(patience)));
  const settle = async ({ added, known, refused }: Taken): Promise<void> => {
    // Read before it is dropped, so that nothing disappears from view in between.
    if (added.length + known.length > 0) await read();
    for (const id of [...added, ...known]) await drop(id);
    for (const { id, sentence } of refused) {
      const found = all.find((each) => each.id === id);
      if (found) await keep({ ...found, refused: sentence });
    }
  };
  const withFile = async (kept: Kept): Promise<void> => {
    try {
      const taken = kept.photo
        ? await post("photo", { entry: kept.entry, photo: await base64(kept.photo) }, PHOTO_PATIENCE)
        : await post("attach", { entry: kept.entry, path: kept.path }, PHOTO_PATIENCE);
      await settle(taken);
    } catch (error) {
      if (!(error instanceof ServerProblem) || !FINAL.has(error.code)) throw error;
      await keep({ ...kept, refused: error.message });
    }
  };
  /** One after the other in the order in which they were made. */
  const send = async (): Promise<void> => {
    for (;;) {
      const waiting = state.kept.filter(({ refused }) => refused === undefined);
      const first = waiting[0];
      if (!first) return;
      if (first.photo || first.path !== undefined) {
        await withFile(first);
        continue;
      }
      const end = waiting.findIndex(({ photo, path }) => photo !== undefined || path !== undefined);
      const batch = waiting.slice(0, Math.min(end < 0 ? waiting.length : end, MOST_AT_ONCE));
      await settle(await post("entries", { entries: batch.map(({ entry }) => entry) }, PATIENCE));
    }
  };
  const run = async (): Promise<void> => {
    try {
      // At once: a slow phone takes its time for either.
      await Promise.all([open(), read()]);
      await send();
      wait = FIRST_WAIT;
    } catch (error) {
      const gone = error instanceof ServerProblem && error.code === "gone";
      const unpaired = error instanceof ServerProblem && error.code === "not-paired";
      set({
        unpaired,
        ...(gone ? { connection: "lost" } : { connection: "open", problem: unpaired ? null : sentenceOf(error) }),
      });
      clearTimeout(timer);
      if (unpaired) {
        leave?.();
        leave = undefined;
      } else if (isShown) timer = setTimeout(() => void sync(), wait);
      wait = Math.min(LONGEST_WAIT, wait * 2);
    }
  };
  const sync = (): Promise<void> => {
    if (syncing) {
      again = true;
      return syncing;
    }
    syncing = run().finally(() => {
      syncing = undefined;
      if (again) {
        again = false;
        void sync();
      }
    });
    return syncing;
  };

  return {
    get: () => state,
    subscribe(told) {
      listeners.add(told);
      return () => listeners.delete(told);
    },
    start() {
      const now = (): void => void sync();
      isShown = true;
      now();
      window.addEventListener("online", now);
      return () => {
        isShown = false;
        clearTimeout(timer);
        leave?.();
        leave = undefined;
        window.removeEventListener("online", now);
      };
    },
    async add(step, { what, photo, path, ...wish }) {
      const id = newId();
      const { entry, within } = entryOf(step, { what, id, at: new Date().toISOString(), ...wish });
      const job = state.told?.job ?? "";
      const order = (all.at(-1)?.order ?? 0) + 1;
      await keep({ id, job, order, entry, ...(photo ? { photo } : {}), ...(path === undefined ? {} : { path }) });
      void sync();
      return { id, ...(within === undefined ? {} : { within }) };
    },
    forget: drop,
    sync,
  };
}

/** The kept entries as the log will have them. */
export const asLogged = (kept: readonly Kept[]): { time: string; entry: Record<string, unknown> }[] =>
  kept
    .filter(({ refused }) => refused === undefined)
    .map(({ entry }: { entry: StepEntry }) => ({ time: entry.at ?? "", entry: { ...entry } }));
