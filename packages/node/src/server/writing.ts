import { randomBytes } from "node:crypto";
import type { BenchWriter } from "@rouse/core/bench";
import { InputError } from "@rouse/core/errors";
import {
  type Certificate,
  type DeviceOpener,
  type Estimates,
  type FitFinding,
  interruptedWrites,
  type Journal,
  type OnBench,
  onBench,
  type Progress,
  type ReadyWrite,
  readyAdapter,
  readyTarget,
  stopsOf,
  type TargetFacts,
} from "../devices/write/index.ts";
import { type Job, readLog } from "../store/index.ts";
import { checkedJobs } from "./job-timing.ts";
import type { TellFault } from "./problems.ts";

/** A plan as a person reads it, before anything is done. */
export interface PlanTold {
  id: string;
  image: { name: string; size: number; sha256: string; format: string | null };
  target: TargetFacts;
  blocks: number;
  blockSize: number;
  from: number;
  copyTo: string | null;
  /** What the check says of this image on its way onto the disk. */
  fit: readonly FitFinding[];
  estimates: Estimates | null;
  /** Why there is no estimate, where that is so. */
  noEstimate: string | null;
}

/** A write as it stands; it goes on whether or not a page looks at it. */
export interface WriteState {
  id: string;
  plan: PlanTold;
  state: "running" | "stopping" | "done" | "failed";
  progress: Progress | null;
  /** Milliseconds that each stage has taken so far. */
  took: Partial<Record<Progress["stage"], number>>;
  certificate: Certificate | null;
  problem: { code: string; sentence: string } | null;
}

interface PlanWish {
  image: string;
  /** A path, or the name of a writer of the bench file. */
  target: string;
  isWriter: boolean;
  again?: string;
  resume: boolean;
  withoutCopy: boolean;
}

/** What a writer's programs are called with, before placeholders are filled in. */
interface ListedWriter {
  name: string;
  command: readonly string[];
  readsBack: boolean;
  /** Why it is not called from here, where that is so. */
  problem: string | null;
}

export interface Writing {
  /** Looks at image and target; opens nothing for writing. The last plan is the one that can be begun. */
  plan(wish: PlanWish): Promise<PlanTold>;
  /** Begins what was planned. `despite`: although the check says that it does not fit. */
  start(id: string, word: string, despite: boolean): Promise<WriteState>;
  /** Ends it after the stretch at hand. */
  stop(): WriteState | null;
  state(): WriteState | null;
  /** Adapters of the bench file. */
  writers(): Promise<readonly ListedWriter[]>;
  /** Certificates in the job's log, the newest first. */
  certificates(): Promise<readonly Certificate[]>;
  /** Writes whose journals say that they did not come to their end; not the one that runs. */
  interrupted(): Promise<readonly Journal[]>;
  /** Tells every change until it is called off. */
  follow(told: (state: WriteState | null) => void): () => void;
  /** Stops what runs and waits until it is safe to go. */
  close(): Promise<void>;
}

/** Pages are told of progress no oftener; ms. */
const TELL_EVERY = 80;
const MOST_CERTIFICATES = 20;
const CHANGED =
  "The bench file's entry of this writer changed since the workbench was opened. A page can change that file, and must not choose what programs run: open the workbench anew, or use `rouse write --writer`.";

export function createWriting(job: Job, opener: DeviceOpener, now: () => Date, tellFault: TellFault): Writing {
  const check = checkedJobs(job);
  const followers = new Set<(state: WriteState | null) => void>();
  let planned: { told: PlanTold; ready: ReadyWrite } | undefined;
  let state: WriteState | null = null;
  let running: Promise<void> | undefined;
  let stopping = new AbortController();
  let lastTold = 0;
  let known: { of: string; found: OnBench } | undefined;

  const set = (change: Partial<WriteState>): void => {
    if (state) state = { ...state, ...change };
    lastTold = now().getTime();
    for (const told of followers) told(state);
  };
  const onProgress = (progress: Progress): void => {
    if (!state) return;
    state = { ...state, progress, took: { ...state.took, [progress.stage]: progress.elapsed } };
    if (progress.done === progress.blocks || now().getTime() - lastTold >= TELL_EVERY) set({});
  };

  const benchNow = async () => {
    const { bench } = (await check()).checked;
    if (bench) return bench;
    throw new InputError("bad-bench", "The bench file cannot be used; the page Bench file shows why.");
  };
  const entryOf = ({ command, readBack, progress, limit }: BenchWriter): string =>
    JSON.stringify([command, readBack, progress, limit?.value]);
  // The writers as the person's bench file had them before any page could change it.
  const first = benchNow().then(
    ({ writers }) => new Map(writers.map((each) => [each.name, entryOf(each)])),
    () => new Map<string, string>(),
  );
  const changedSince = async (writer: BenchWriter): Promise<string | null> =>
    (await first).get(writer.name) === entryOf(writer) ? null : CHANGED;

  /** What the bench says of an image file, kept as long as neither changes. */
  const aboutImage = async (file: string, sha256: string): Promise<OnBench> => {
    const { key, checked } = await check();
    const { bench } = checked;
    if (!bench) return { named: false, fit: [], estimates: null, noEstimate: "The bench file cannot be used." };
    const of = `${file} ${sha256} ${key}`;
    if (known?.of !== of) known = { of, found: onBench({ ...checked, bench }, file) };
    return known.found;
  };

  const ready = async ({ target, isWriter, again, ...rest }: PlanWish): Promise<ReadyWrite> => {
    if (!isWriter) return readyTarget({ job, target, ...rest, ...(again === undefined ? {} : { again }) }, opener, now);
    const bench = await benchNow();
    const writer = bench.writers.find(({ name }) => name === target);
    const problem = writer ? await changedSince(writer) : null;
    if (problem) throw new InputError("writer-changed", problem);
    return readyAdapter({ job, writer: target, ...rest }, bench, now);
  };

  const carryOut = async (run: ReadyWrite["run"], signal: AbortSignal): Promise<void> => {
    try {
      set({ state: "done", certificate: await run({ now, onProgress, signal }) });
    } catch (error) {
      if (error instanceof InputError) {
        set({ state: "failed", problem: { code: error.code, sentence: error.message } });
        return;
      }
      const id = randomBytes(6).toString("hex");
      tellFault(id, error);
      const sentence = `Something went wrong inside Rouse; its terminal window tells more under report ${id}.`;
      set({ state: "failed", problem: { code: "fault", sentence } });
    }
  };

  return {
    async plan(wish) {
      const made = await ready(wish);
      const { plan } = made;
      const { bytes, sha256, format } = plan.image;
      const { fit, estimates, noEstimate } = await aboutImage(wish.image, sha256);
      const told: PlanTold = {
        id: randomBytes(8).toString("hex"),
        image: { name: wish.image, size: bytes.length, sha256, format },
        target: plan.target,
        blocks: plan.blocks,
        blockSize: plan.blockSize,
        from: plan.from,
        copyTo: plan.copyTo,
        fit,
        estimates,
        noEstimate,
      };
      planned = { told, ready: made };
      return told;
    },
    async start(id, word, despite) {
      if (running) throw new InputError("write-running", "A write is running; wait for its end or stop it.");
      if (planned?.told.id !== id) throw new InputError("no-plan", "That plan is no longer the last one; look again.");
      const { told, ready: confirmed } = planned;
      if (word.trim() !== told.target.word)
        throw new InputError("not-confirmed", "The word is not the one that the target shows; nothing was written.");
      const stops = stopsOf(told.fit);
      if (stops.length > 0 && !despite)
        throw new InputError("does-not-fit", `${stops.map(({ sentence }) => sentence).join(" ")} Nothing was written.`);
      planned = undefined;
      const mine = new AbortController();
      stopping = mine;
      const begun = confirmed.recheck();
      // Set before the first wait, so that a second start meets it.
      running = begun
        .then(
          () => {
            state = { id, plan: told, state: "running", progress: null, took: {}, certificate: null, problem: null };
            set({});
            return carryOut(confirmed.run, mine.signal);
          },
          () => {},
        )
        .finally(() => {
          running = undefined;
        });
      await begun;
      return state!;
    },
    stop() {
      if (running && state?.state === "running") {
        stopping.abort();
        set({ state: "stopping" });
      }
      return state;
    },
    state: () => state,
    async writers() {
      const { bench } = (await check()).checked;
      return Promise.all(
        (bench?.writers ?? []).map(async (writer) => ({
          name: writer.name,
          command: writer.command,
          readsBack: writer.readBack !== undefined,
          problem: await changedSince(writer),
        })),
      );
    },
    async certificates() {
      const { entries } = await readLog(job);
      return entries
        .map(({ entry }) => entry as unknown as Certificate)
        .filter(({ kind }) => kind === "write-certificate")
        .slice(-MOST_CERTIFICATES)
        .reverse();
    },
    async interrupted() {
      const runs = running === undefined ? undefined : state?.plan.target.path;
      return (await interruptedWrites(job)).filter(({ head }) => head.target !== runs);
    },
    follow(told) {
      followers.add(told);
      return () => followers.delete(told);
    },
    async close() {
      stopping.abort();
      await running;
    },
  };
}
