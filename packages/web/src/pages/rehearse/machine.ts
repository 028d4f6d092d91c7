import { useSyncExternalStore } from "react";
import type { About, Asked, Frame, Told } from "./types.ts";

/** The machine as the page knows it. It lives on, paused, while another page is shown. */
export interface MachineState {
  power: "off" | "starting" | "on";
  /** The bench file's text that the machine was made of. */
  text: string | null;
  about: About | null;
  frame: Frame | null;
  /** As chosen here; the machine follows. */
  fast: boolean;
  /** Addresses before which it stops; they outlast the machine. */
  breakpoints: readonly number[];
  problem: string | null;
  notice: string | null;
}

const OFF = { power: "off", text: null, about: null, frame: null, fast: false, problem: null, notice: null } as const;

export function createMachine(startWorker: () => Worker) {
  let state: MachineState = { ...OFF, breakpoints: [] };
  let worker: Worker | undefined;
  const listeners = new Set<() => void>();

  const set = (change: Partial<MachineState>): void => {
    state = { ...state, ...change };
    for (const told of listeners) told();
  };
  const ask = (asked: Asked): void => worker?.postMessage(asked);
  const fail = (problem: string): void => {
    worker?.terminate();
    worker = undefined;
    set({ ...OFF, text: state.text, problem });
  };

  const hear = (told: Told): void => {
    if (told.kind === "on") {
      set({ power: "on", about: told.about });
      if (state.breakpoints.length > 0) ask({ kind: "breakpoints", at: state.breakpoints });
    }
    if (told.kind === "off") fail(told.sentence);
    if (told.kind === "notice") set({ notice: told.sentence });
    if (told.kind === "frame") {
      // Parts that are left out are as they were.
      set({ frame: { ...state.frame, ...told.frame } });
      requestAnimationFrame(() => ask({ kind: "seen" }));
    }
  };

  return {
    get: (): MachineState => state,
    subscribe(told: () => void): () => void {
      listeners.add(told);
      return () => listeners.delete(told);
    },
    /** Power on, or off and on again: memory is as at power-on, and moments that were kept are gone. */
    switchOn(text: string): void {
      worker?.terminate();
      worker = startWorker();
      worker.onmessage = ({ data }: MessageEvent<Told>) => hear(data);
      worker.onerror = () => fail("The machine could not be run in this browser; load the page anew.");
      set({ ...OFF, power: "starting", text });
      ask({ kind: "switch on", text });
    },
    switchOff(): void {
      worker?.terminate();
      worker = undefined;
      set(OFF);
    },
    ask(asked: Exclude<Asked, { kind: "switch on" | "seen" }>): void {
      if (state.notice !== null) set({ notice: null });
      if (asked.kind === "pace") set({ fast: asked.fast });
      if (asked.kind === "breakpoints") set({ breakpoints: asked.at });
      ask(asked);
    },
  };
}

export const machine = createMachine(
  () => new Worker(new URL("./rehearse-worker.ts", import.meta.url), { type: "module" }),
);

export const useMachine = (): MachineState => useSyncExternalStore(machine.subscribe, machine.get);
