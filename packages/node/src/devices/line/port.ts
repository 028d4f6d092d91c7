import type { Frame } from "@rouse/core/line";

/** How a port is set. */
export interface LineSettings {
  rate: number;
  frame: Frame;
  /** "lines": RTS and CTS, by the driver; "characters": DC1 and DC3, by the driver. */
  flow: "none" | "lines" | "characters";
}

/** Control lines that come from the other end. */
export interface LinesIn {
  cts: boolean;
  dsr: boolean;
  dcd: boolean;
}

/** Control lines that this end drives. */
export interface LinesOut {
  dtr: boolean;
  rts: boolean;
}

export interface LineEvents {
  data(bytes: Uint8Array): void;
  /** The port is gone: closed by the system (`lost`: an adapter pulled, a fault) or by us. */
  closed(lost: boolean): void;
}

/**
 * A serial port as everything here sees it: a real one, or a double in tests. All calls may fail with an `InputError`
 * whose sentence is for the person. Calls under way fail when the port goes.
 */
export interface LinePort {
  readonly path: string;
  open(settings: LineSettings, events: LineEvents): Promise<void>;
  /** Done when the system has taken the bytes. */
  write(bytes: Uint8Array): Promise<void>;
  /** Done when the last bit is on the line, as far as the driver knows. */
  drain(): Promise<void>;
  /** Another rate or frame; what comes in between may be lost. */
  change(settings: LineSettings): Promise<void>;
  /** Space on the line for so many ms. */
  sendBreak(ms: number): Promise<void>;
  setLines(lines: LinesOut): Promise<void>;
  /** Undefined where the port has no control lines. */
  readLines(): Promise<LinesIn | undefined>;
  /**
   * From now on what comes is marked where its stop bit was wrong (`MarkedBytes`), until the port is closed. False where
   * the system can't; then such characters are dropped unseen.
   */
  markFaults?(): Promise<boolean>;
  /** Throws away what has come and was not told yet, and what waits to be sent. */
  discard(): Promise<void>;
  close(): Promise<void>;
}
