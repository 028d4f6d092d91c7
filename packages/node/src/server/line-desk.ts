import { realpath, stat } from "node:fs/promises";
import { visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import { type LinePort, type ListedPort, listPorts, RealPort } from "../devices/line/index.ts";
import type { Job } from "../store/index.ts";
import { type LineFiles, lineFiles } from "./line-files.ts";
import { LineSeat } from "./line-seat.ts";
import type { SeatTold } from "./line-types.ts";

/** Where ports come from; tests put doubles in its place. */
export interface LineSource {
  list(): Promise<readonly ListedPort[]>;
  make(path: string): LinePort;
  /** Throws an `InputError` for anything that is no serial port. */
  demandPort(path: string): Promise<void>;
}

/** Names of serial ports, links resolved. Other devices may act upon being opened (a watchdog restarts the computer). */
const SERIAL = /^\/dev\/(tty[A-Z]\w*|pts\/\d+|rfcomm\d+|(cu|tty)\.[\w.+-]+)$/;

export const realLines: LineSource = {
  list: listPorts,
  make: (path) => new RealPort(path),
  demandPort: async (path) => {
    if (process.platform === "win32" && /^COM\d{1,3}$/i.test(path)) return;
    const real = await realpath(path).catch(() => {
      throw new InputError("no-port", `There is no port ${visible(path)}.`);
    });
    if (!SERIAL.test(real) || !(await stat(real)).isCharacterDevice())
      throw new InputError("not-a-port", `${visible(path)} is not a serial port.`);
  },
};

/** A window that looks at the line. */
export interface LineWindow {
  /** The port that it shows; others are told of by state alone. */
  port: string;
  /** What it has seen before a break: bytes of that run of the port. */
  seen?: { run: string; position: number };
  text(message: LineMessage): void;
  bytes(frame: Uint8Array<ArrayBuffer>): void;
}

type LineMessage =
  | { kind: "state"; seats: readonly SeatTold[] }
  /** Frames follow: those before `position` are what has passed already. `first` is the first that can still be told. */
  | { kind: "port"; run: string; first: number; position: number }
  /** Whether this window answers what a program asks its terminal: one of them does. */
  | { kind: "answers"; yes: boolean };

/** Progress is told no oftener; ms. */
const TELL_EVERY = 100;
const MOST_SEATS = 16;

/** All ports in use, and the windows that look at them. */
export interface LineDesk {
  files: LineFiles;
  list(): Promise<readonly ListedPort[]>;
  seats(): readonly SeatTold[];
  /** The seat of a port that has been used. */
  seat(port: string): LineSeat;
  /** The seat of a port, made where there is none. */
  take(port: string): Promise<LineSeat>;
  /** Shows a window all that passes until it leaves. */
  join(window: LineWindow): () => void;
  close(): Promise<void>;
}

export function createLineDesk(job: Job, source: LineSource, tellFault: (error: unknown) => void): LineDesk {
  const clock = (): number => performance.now();
  const files = lineFiles(job, () => new Date(), clock);
  const seats = new Map<string, LineSeat>();
  const windows = new Set<LineWindow>();
  let timer: NodeJS.Timeout | undefined;

  const told = (): SeatTold[] =>
    [...seats.values()].map((seat) => seat.told([...windows].filter(({ port }) => port === seat.port).length));
  const tellState = (): void => {
    clearTimeout(timer);
    timer = undefined;
    const message: LineMessage = { kind: "state", seats: told() };
    for (const window of [...windows]) window.text(message);
  };
  const begin = (window: LineWindow, seat: LineSeat): void => {
    const from = window.seen?.run === seat.run ? window.seen.position : 0;
    const frames = seat.history.since(from);
    window.text({ kind: "port", run: seat.run, first: seat.history.first, position: seat.history.position });
    for (const frame of frames) window.bytes(frame);
  };
  const tellAnswers = (port: string): void => {
    const those = [...windows].filter((each) => each.port === port);
    for (const [index, window] of those.entries()) window.text({ kind: "answers", yes: index === 0 });
  };

  return {
    files,
    list: () => source.list(),
    seats: told,
    seat(port) {
      const seat = seats.get(port);
      if (!seat) throw new InputError("port-closed", `${visible(port)} is not open.`);
      return seat;
    },
    async take(port) {
      const there = seats.get(port);
      if (there) return there;
      await source.demandPort(port);
      const made = seats.get(port);
      if (made) return made;
      if (seats.size >= MOST_SEATS) {
        const idle = told().find((each) => each.state === "closed" && each.work?.state !== "running");
        if (!idle) throw new InputError("too-many-ports", `No more than ${MOST_SEATS} ports are used at once.`);
        seats.delete(idle.port);
      }
      const seat: LineSeat = new LineSeat(port, {
        makePort: source.make,
        files,
        clock,
        now: () => Date.now(),
        tellFault,
        onFrame: (frame) => {
          for (const window of [...windows]) if (window.port === port) window.bytes(frame);
        },
        onState: (soon) => {
          if (!soon) tellState();
          else timer ??= setTimeout(tellState, TELL_EVERY);
        },
      });
      seats.set(port, seat);
      for (const window of windows) if (window.port === port) begin(window, seat);
      return seat;
    },
    join(window) {
      windows.add(window);
      const seat = seats.get(window.port);
      if (seat) begin(window, seat);
      tellState();
      tellAnswers(window.port);
      return () => {
        if (!windows.delete(window)) return;
        tellState();
        tellAnswers(window.port);
      };
    },
    async close() {
      clearTimeout(timer);
      windows.clear();
      await Promise.all([...seats.values()].map((seat) => seat.close().catch(() => undefined)));
      clearTimeout(timer);
    },
  };
}
