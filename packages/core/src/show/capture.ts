import { FormatError } from "../errors/index.ts";
import { PieceReader } from "./piece.ts";

/**
 * A session on a line as text that will still be read in 30 years: one JSON object a line, ASCII only. The first line is
 * the head; each other line has `t`, seconds since `started`, and what happened then. Bytes are characters U+0000 to
 * U+00FF of `in` (from the other end) or `out` (from here). Bytes read in one go share one time.
 */
export interface CaptureHead {
  /** When the session began: ISO 8601, UTC. */
  started: string;
  port: string;
  rate: number;
  /** "8N1" */
  frame: string;
  about?: string;
}

export interface LinesSeen {
  cts: boolean;
  dsr: boolean;
  dcd: boolean;
}

/** What may stand on a line beside its time. */
export type CaptureEvent =
  | { in: Uint8Array }
  | { out: Uint8Array }
  /** Break sent from here, in ms. */
  | { break: number }
  /** Control lines of the other end as they are from now on. */
  | { lines: LinesSeen }
  /** Control lines of this end as they were set. */
  | { set: { dtr?: boolean; rts?: boolean } }
  | { settings: { rate: number; frame: string } }
  /** The port went away, or came back. */
  | { link: "lost" | "back" }
  | { note: string };

export type CaptureEntry = { t: number } & CaptureEvent;

export interface Capture {
  head: CaptureHead;
  /** Their bytes may be views into one buffer. */
  entries: CaptureEntry[];
  /** The last line was not written to its end: its length in bytes. */
  torn?: number;
  /** Lines that are no entries, by number (1 is the head), and why. */
  bad: { line: number; why: string }[];
}

const FORMAT = "rouse-capture";
const VERSION = 1;
const MOST_BAD = 100;

const characters = (bytes: Uint8Array): string => {
  let text = "";
  for (let at = 0; at < bytes.length; at += 4096) text += String.fromCharCode(...bytes.subarray(at, at + 4096));
  return text;
};

/** JSON in ASCII: everything from DEL on as an escape. */
const json = (value: unknown): string =>
  JSON.stringify(value).replace(/[\u007f-\uffff]/g, (each) => `\\u${each.charCodeAt(0).toString(16).padStart(4, "0")}`);

/** The first line of a capture, with its line feed. */
export const captureHead = (head: CaptureHead): string => `${json({ format: FORMAT, version: VERSION, ...head })}\n`;

/** One more line of a capture, with its line feed. `t` is kept to the microsecond. */
export function captureLine(entry: CaptureEntry): string {
  const { t, ...event } = entry;
  const time = Math.round(t * 1e6) / 1e6;
  if ("in" in event) return `${json({ t: time, in: characters(event.in) })}\n`;
  if ("out" in event) return `${json({ t: time, out: characters(event.out) })}\n`;
  return `${json({ t: time, ...event })}\n`;
}

const isObject = (value: unknown): value is Record<string, unknown> =>
  typeof value === "object" && value !== null && !Array.isArray(value);

function parsed(bytes: Uint8Array): Record<string, unknown> | undefined {
  try {
    const value: unknown = JSON.parse(characters(bytes));
    return isObject(value) ? value : undefined;
  } catch {
    return undefined;
  }
}

/** Bytes of a string whose characters are all below U+0100. */
function bytesOf(text: string): Uint8Array | undefined {
  const bytes = new Uint8Array(text.length);
  for (let at = 0; at < text.length; at++) {
    const code = text.charCodeAt(at);
    if (code > 0xff) return undefined;
    bytes[at] = code;
  }
  return bytes;
}

const isBoolean = (value: unknown): value is boolean => typeof value === "boolean";
const isRate = (value: unknown): value is number => typeof value === "number" && value > 0;

function eventOf(value: Record<string, unknown>): CaptureEvent | undefined {
  for (const way of ["in", "out"] as const) {
    const text = value[way];
    if (typeof text !== "string") continue;
    const bytes = bytesOf(text);
    if (!bytes) return undefined;
    return way === "in" ? { in: bytes } : { out: bytes };
  }
  const { break: length, lines, set, settings, link, note } = value;
  if (typeof length === "number") return { break: length };
  if (isObject(lines) && isBoolean(lines.cts) && isBoolean(lines.dsr) && isBoolean(lines.dcd))
    return { lines: { cts: lines.cts, dsr: lines.dsr, dcd: lines.dcd } };
  if (isObject(set))
    return {
      set: { ...(isBoolean(set.dtr) ? { dtr: set.dtr } : {}), ...(isBoolean(set.rts) ? { rts: set.rts } : {}) },
    };
  if (isObject(settings) && isRate(settings.rate) && typeof settings.frame === "string")
    return { settings: { rate: settings.rate, frame: settings.frame } };
  if (link === "lost" || link === "back") return { link };
  if (typeof note === "string") return { note };
  return undefined;
}

function headOf(value: Record<string, unknown> | undefined): CaptureHead {
  if (!value || value.format !== FORMAT)
    throw new FormatError("not-a-capture", "This is no session capture: its first line does not say so.", 0);
  if (value.version !== VERSION)
    throw new FormatError(
      "newer-capture",
      `This session capture is of version ${String(value.version)}; 1 is known.`,
      0,
    );
  const { started, port, rate, frame, about } = value;
  if (typeof started !== "string" || typeof port !== "string" || !isRate(rate) || typeof frame !== "string")
    throw new FormatError("bad-capture", "The head of this session capture lacks started, port, rate or frame.", 0);
  return { started, port, rate, frame, ...(typeof about === "string" ? { about } : {}) };
}

/** Reads a capture. A torn last line and lines that are no entries are told, not thrown; a bad head is a `FormatError`. */
export function readCapture(bytes: Uint8Array): Capture {
  const first = bytes.indexOf(0x0a);
  const capture: Capture = {
    head: headOf(first < 0 ? undefined : parsed(bytes.subarray(0, first))),
    entries: [],
    bad: [],
  };
  const pieces = new PieceReader(bytes);
  let from = first + 1;
  for (let line = 2; from < bytes.length; line++) {
    const end = bytes.indexOf(0x0a, from);
    if (end < 0) {
      capture.torn = bytes.length - from;
      break;
    }
    const piece = pieces.read(from, end);
    if (piece) capture.entries.push(piece);
    else {
      const value = parsed(bytes.subarray(from, end));
      const event = value && eventOf(value);
      if (event && typeof value.t === "number" && value.t >= 0) capture.entries.push({ t: value.t, ...event });
      else if (capture.bad.length < MOST_BAD)
        capture.bad.push({ line, why: value ? "is no entry that is known" : "is not a JSON object" });
    }
    from = end + 1;
  }
  return capture;
}

/** All bytes of one direction, and the time of each in seconds. */
export function capturedBytes(capture: Capture, way: "in" | "out"): { bytes: Uint8Array; times: Float64Array } {
  const pieces = capture.entries.flatMap((entry) => {
    const piece = way in entry ? (entry as Record<string, unknown>)[way] : undefined;
    return piece instanceof Uint8Array ? [{ t: entry.t, piece }] : [];
  });
  const length = pieces.reduce((sum, each) => sum + each.piece.length, 0);
  const bytes = new Uint8Array(length);
  const times = new Float64Array(length);
  let at = 0;
  for (const { t, piece } of pieces) {
    bytes.set(piece, at);
    times.fill(t, at, at + piece.length);
    at += piece.length;
  }
  return { bytes, times };
}
