import type {
  ControlResult,
  Heard,
  LineSettings,
  LinesIn,
  LinesOut,
  LinkState,
  RateResult,
} from "../devices/line/index.ts";

export interface SettingsTold {
  rate: number;
  frame: string;
  flow: LineSettings["flow"];
}

/** A file transfer or a paste as it stands. */
export interface TransferTold {
  protocol: string;
  /** The file under way or the last one. */
  file: string;
  /** Of it, confirmed or come. */
  bytes: number;
  length: number | null;
  /** Blocks that had to go again, and why the last one. */
  retries: number;
  lastRetry: string | null;
  /** Files that are through, of so many (null where only the other end knows). */
  arrived: number;
  files: number | null;
  saved: readonly { name: string; size: number }[];
}

interface TestTold {
  rates: readonly number[];
  results: readonly RateResult[];
  verdict: string | null;
  /** What follows DTR and RTS, in words; null where it was not looked at or the port shows none. */
  controls: readonly string[] | null;
  follows: ControlResult["follows"] | null;
}

/** Something that takes its time on a port: one at once. The last one stays until another begins. */
export interface WorkTold {
  id: number;
  kind: "paste" | "send" | "receive" | "listen" | "test";
  state: "running" | "done" | "failed" | "stopped";
  /** Ms. */
  took: number;
  problem: string | null;
  transfer?: TransferTold;
  heard?: { heard: readonly Heard[]; best: Heard | null };
  test?: TestTold;
}

/** A port that is or was in use, as pages see it. */
export interface SeatTold {
  port: string;
  /** Differs from one start of the server, and from one port, to the next. */
  run: string;
  state: LinkState;
  /** Null before it is first opened. */
  settings: SettingsTold | null;
  /** Null where the port has no control lines. */
  in: LinesIn | null;
  out: LinesOut;
  received: number;
  sent: number;
  windows: number;
  capture: { name: string; problem: string | null } | null;
  work: WorkTold | null;
  /** Why the port is not open although it should be. */
  problem: string | null;
}
