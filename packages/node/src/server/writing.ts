import { randomBytes } from "node:crypto";
import { InputError } from "@rouse/core/errors";
import { type TimingAnswer, timeJob } from "@rouse/core/timing";
import {
  type Certificate,
  type DeviceOpener,
  type Progress,
  planWrite,
  runWrite,
  type TargetFacts,
  type WritePlan,
  type WriteRequest,
} from "../devices/write/index.ts";
import { stopsOf } from "../job/stops.ts";
import { type Job, readLog } from "../store/index.ts";
import { timingOfJob } from "./job-timing.ts";
import type { TellFault } from "./problems.ts";

/** What the timing model says of a stage on the bench's drive, in seconds; where not `known`, at least so long. */
type Estimate = Pick<TimingAnswer, "seconds" | "low" | "high" | "known">;

/** A plan as a person reads it, before anything is done. */
export interface PlanTold {
  id: string;
  image: { name: string; size: number; sha256: string; format: string | null };
  target: TargetFacts;
  blocks: number;
  blockSize: number;
  from: number;
  copyTo: string | null;
  estimate: Readonly<Record<"writing" | "verifying", Estimate>> | null;
  /** Why there is no estimate, where that is so. */
  noEstimate: string | null;
  /** Findings of the check that stop this image on its way onto the disk. */
  stops: readonly string[];
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
  target: string;
  again?: string;
  resume: boolean;
  withoutCopy: boolean;
}

export interface Writing {
  /** Looks at image and target; opens nothing for writing. The last plan is the one that can be begun. */
  plan(wish: PlanWish): Promise<PlanTold>;
  /** Begins what was planned. `despite`: although the check says that it does not fit. */
  start(id: string, word: string, despite: boolean): Promise<WriteState>;
  /** Ends it after the stretch at hand. */
  stop(): WriteState | null;
  state(): WriteState | null;
  /** Certificates in the job's log, the newest first. */
  certificates(): Promise<readonly Certificate[]>;
  /** Tells every change until it is called off. */
  follow(told: (state: WriteState | null) => void): () => void;
  /** Stops what runs and waits until it is safe to go. */
  close(): Promise<void>;
}

/** Pages are told of progress no oftener; ms. */
const TELL_EVERY = 80;
const MOST_CERTIFICATES = 20;

const estimateOf = ({ seconds, low, high, known }: TimingAnswer): Estimate => ({ seconds, low, high, known });

/** What must not change between the plan that a person confirms and the write. */
const sameness = ({ image, target, from }: WritePlan): string =>
  JSON.stringify([image.sha256, target.kind, target.size, target.word, target.holds, from]);

export function createWriting(job: Job, opener: DeviceOpener, now: () => Date, tellFault: TellFault): Writing {
  const timing = timingOfJob(job);
  const followers = new Set<(state: WriteState | null) => void>();
  let planned: { told: PlanTold; request: WriteRequest; plan: WritePlan } | undefined;
  let state: WriteState | null = null;
  let running: Promise<void> | undefined;
  let stopping = new AbortController();
  let lastTold = 0;
  let estimated: { of: string; estimate: NonNullable<PlanTold["estimate"]> } | undefined;

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

  /** What the bench says of an image file: its findings, and how long its drive would take. */
  const onBench = async (
    file: string,
    sha256: string,
  ): Promise<Pick<PlanTold, "estimate" | "noEstimate" | "stops">> => {
    const none = (noEstimate: string, stops: readonly string[] = []) => ({ estimate: null, noEstimate, stops });
    try {
      const { bench, checked } = await timing();
      const image = bench.images.find((each) => each.file.replace(/^(\.\/)?images\//, "") === file);
      const found = image && checked.images.find((each) => each.name === image.name);
      if (!image || !found) return none("The bench file does not name this image, so its drive is not known.");
      const stops = stopsOf(checked.report, image.name);
      if (!image.drive || !image.recording)
        return none("The bench file gives this image no drive and recording.", stops);
      const of = `${sha256} ${checked.text}`;
      // Whole disks take the simulation a second on a slow computer; nothing of theirs changes from plan to plan.
      if (estimated?.of !== of) {
        const [writing, verifying] = (["write", "verify"] as const).map((what) =>
          estimateOf(timeJob({ bench, image: found }, { what })),
        ) as [Estimate, Estimate];
        estimated = { of, estimate: { writing, verifying } };
      }
      return { estimate: estimated.estimate, noEstimate: null, stops };
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      return none(error.message);
    }
  };

  const run = async (plan: WritePlan, signal: AbortSignal): Promise<void> => {
    try {
      set({ state: "done", certificate: await runWrite(plan, opener, { now, onProgress, signal }) });
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
    async plan({ image, target, again, resume, withoutCopy }) {
      const request = { job, image, target, resume, withoutCopy, ...(again === undefined ? {} : { again }) };
      const plan = await planWrite(request, opener, now);
      const { bytes, sha256, format } = plan.image;
      const told: PlanTold = {
        id: randomBytes(8).toString("hex"),
        image: { name: image, size: bytes.length, sha256, format },
        target: plan.target,
        blocks: plan.blocks,
        blockSize: plan.blockSize,
        from: plan.from,
        copyTo: plan.copyTo,
        ...(await onBench(image, sha256)),
      };
      planned = { told, request, plan };
      return told;
    },
    async start(id, word, despite) {
      if (running) throw new InputError("write-running", "A write is running; wait for its end or stop it.");
      if (planned?.told.id !== id) throw new InputError("no-plan", "That plan is no longer the last one; look again.");
      const { told, request, plan: confirmed } = planned;
      if (word.trim() !== told.target.word)
        throw new InputError("not-confirmed", "The word is not the one that the target shows; nothing was written.");
      if (told.stops.length > 0 && !despite)
        throw new InputError("does-not-fit", `${told.stops.join(" ")} Nothing was written.`);
      planned = undefined;
      const mine = new AbortController();
      stopping = mine;
      const begin = async (): Promise<WritePlan> => {
        const plan = await planWrite(request, opener, now);
        if (sameness(plan) !== sameness(confirmed))
          throw new InputError("target-changed", "Image or target changed since the plan was made; look again.");
        return plan;
      };
      const begun = begin();
      // Set before the first wait, so that a second start meets it.
      running = begun
        .then(
          (plan) => {
            state = { id, plan: told, state: "running", progress: null, took: {}, certificate: null, problem: null };
            set({ plan: { ...told, copyTo: plan.copyTo } });
            return run(plan, mine.signal);
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
    async certificates() {
      const { entries } = await readLog(job);
      return entries
        .map(({ entry }) => entry as unknown as Certificate)
        .filter(({ kind }) => kind === "write-certificate")
        .slice(-MOST_CERTIFICATES)
        .reverse();
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
