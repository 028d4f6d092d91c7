import { useSyncExternalStore } from "react";
import { api, ServerProblem, sentenceOf } from "./api.ts";
import { type Connection, followJob, type JobPart } from "./live.ts";
import type { BenchText, ImageListed, WorkbenchReport } from "./types.ts";

/** The opened job as the page knows it. Every page reads it; only the functions of `job` change it. */
export interface JobState {
  /** The bench file as last seen on disk. */
  saved: BenchText | null;
  /** The text in the editor. */
  text: string;
  /** The file on disk, where it was changed elsewhere while there were edits here. */
  outside: BenchText | null;
  report: WorkbenchReport | null;
  /** The last report that had a chain: shown, as such, while the text cannot be read. */
  chain: WorkbenchReport | null;
  images: readonly ImageListed[] | null;
  /** Counts changes of the image files, so that a shown image is read again. */
  imagesChange: number;
  problem: string | null;
  saveProblem: string | null;
  saving: boolean;
  connection: Connection;
}

const EMPTY: JobState = {
  saved: null,
  text: "",
  outside: null,
  report: null,
  chain: null,
  images: null,
  imagesChange: 0,
  problem: null,
  saveProblem: null,
  saving: false,
  connection: "connecting",
};

/** Typing is quiet for so long before the chain is worked out anew; ms. */
const QUIET = 50;

export const isUnsaved = (state: JobState): boolean => state.saved !== null && state.text !== state.saved.text;

export function createJob() {
  let state = EMPTY;
  const listeners = new Set<() => void>();
  let timer: ReturnType<typeof setTimeout> | undefined;
  let running: AbortController | undefined;
  let following = false;

  const set = (change: Partial<JobState>): void => {
    state = { ...state, ...change };
    for (const told of listeners) told();
  };

  /** Works the chain out for the text as it is now; an answer to an older text is thrown away. */
  const check = async (): Promise<void> => {
    running?.abort();
    const mine = new AbortController();
    running = mine;
    try {
      const report = await api.report(state.text, mine.signal);
      if (running === mine) set({ report, problem: null, ...(report.verdict === null ? {} : { chain: report }) });
    } catch (error) {
      if (running === mine) set({ problem: sentenceOf(error) });
    }
  };
  const checkSoon = (): void => {
    clearTimeout(timer);
    timer = setTimeout(check, QUIET);
  };

  const readBench = async (): Promise<void> => {
    try {
      const found = await api.bench();
      if (found.hash === state.saved?.hash) return;
      const edited = isUnsaved(state) && state.text !== found.text;
      if (edited) set({ outside: found });
      else set({ saved: found, text: found.text, outside: null, problem: null });
      await check();
    } catch (error) {
      set({ problem: sentenceOf(error) });
    }
  };
  const readImages = async (): Promise<void> => {
    try {
      set({ images: await api.images(), imagesChange: state.imagesChange + 1 });
    } catch (error) {
      set({ problem: sentenceOf(error) });
    }
  };
  const changed = (what: readonly JobPart[]): void => {
    if (what.includes("bench")) void readBench();
    if (what.includes("images")) void readImages();
    if (what.includes("images") || what.includes("catalogue")) checkSoon();
  };

  const job = {
    get: (): JobState => state,
    subscribe(told: () => void): () => void {
      listeners.add(told);
      return () => listeners.delete(told);
    },
    start(): void {
      if (!following) followJob({ changed, connection: (connection) => set({ connection }) });
      following = true;
      void readBench();
      void readImages();
    },
    /** A change made in the editor. */
    write(text: string): void {
      if (text === state.text) return;
      set({ text, saveProblem: null });
      checkSoon();
    },
    async save(): Promise<void> {
      if (!state.saved || state.saving) return;
      const { text } = state;
      set({ saving: true, saveProblem: null });
      try {
        set({ saved: await api.saveBench(text, state.saved.hash), outside: null, saving: false });
      } catch (error) {
        set({ saving: false });
        if (error instanceof ServerProblem && error.code === "bench-changed") {
          const outside = await api.bench().catch(() => null);
          set({ outside, ...(outside ? {} : { saveProblem: error.message }) });
        } else set({ saveProblem: sentenceOf(error) });
      }
    },
    /** The file on disk was changed elsewhere: take that text, or go on with the one here. */
    takeTheirs(): void {
      const { outside } = state;
      if (!outside) return;
      set({ saved: outside, text: outside.text, outside: null });
      void check();
    },
    keepMine(): void {
      if (state.outside) set({ saved: state.outside, outside: null });
    },
  };
  return job;
}

export const job = createJob();

export const useJob = (): JobState => useSyncExternalStore(job.subscribe, job.get);
