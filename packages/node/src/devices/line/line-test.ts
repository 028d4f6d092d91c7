import { InputError } from "@rouse/core/errors";
import { type Frame, STANDARD_RATES } from "@rouse/core/line";
import { type ErrorRate, errorRate } from "./interval.ts";
import type { LinePort, LineSettings, LinesIn, LinesOut } from "./port.ts";
import { compareSequence, type SequenceErrors, sequence } from "./sequence.ts";

/** What one rate gave. */
export interface RateResult extends SequenceErrors {
  rate: number;
  sent: number;
  received: number;
  /** Of bits, at 95 %. */
  bitErrors: ErrorRate;
  /** Characters a second that came back. */
  speed: number;
  verdict: "good" | "errors" | "nothing came back" | "port refuses the rate";
}

export interface LineTestOptions {
  /** Rates to try, lowest first. */
  rates: readonly number[];
  frame: Frame;
  /** Seconds of sending at each rate; 2 unless said. */
  seconds?: number;
  now: () => number;
  onResult?: (result: RateResult) => void;
  signal?: AbortSignal;
}

/** Ms without a character after which nothing more is awaited, beside the time of what may still be buffered. */
const QUIET = 500;
/** Sent in one go: enough that the line never waits, little enough that a far end's buffer holds it. */
const CHUNK = 64;
/** Characters on the way at most: what has not come back is not run away from. */
const AHEAD = 256;

const wait = (ms: number) => new Promise<void>((resolve) => setTimeout(resolve, ms));

/** Standard rates up to and with `highest`. */
export const ratesUpTo = (highest: number): number[] =>
  STANDARD_RATES.filter((rate) => rate <= highest).sort((a, b) => a - b);

/**
 * Sends the pseudo-random sequence at each rate and compares what comes back, by a loopback plug or from a far end that
 * echoes. Stops above the first rate at which nothing comes back.
 */
export async function testLine(port: LinePort, options: LineTestOptions): Promise<RateResult[]> {
  const { rates, frame, now, onResult, signal } = options;
  const results: RateResult[] = [];
  for (const rate of rates) {
    if (signal?.aborted) break;
    const result = await testRate(port, { rate, frame, flow: "none" }, options.seconds ?? 2, now, signal);
    results.push(result);
    onResult?.(result);
    if (result.verdict === "nothing came back") break;
  }
  return results;
}

async function testRate(
  port: LinePort,
  settings: LineSettings,
  seconds: number,
  now: () => number,
  signal: AbortSignal | undefined,
): Promise<RateResult> {
  const { rate, frame } = settings;
  const chunks: Uint8Array[] = [];
  let received = 0;
  let last = now();
  const began = last;
  const result = (sent: number): RateResult => {
    const errors = compareSequence(Buffer.concat(chunks), frame.data);
    const unsent = Math.max(0, sent - received - errors.lost + errors.extra);
    const bad = errors.wrongBits + errors.lost + errors.extra + errors.unplaced + unsent > 0;
    return {
      rate,
      sent,
      received,
      ...errors,
      // What never came at the end is lost as well.
      lost: errors.lost + unsent,
      bitErrors: errorRate(errors.wrongBits, errors.bits),
      speed: received / Math.max(1e-3, (last - began) / 1000),
      verdict: received === 0 ? "nothing came back" : bad ? "errors" : "good",
    };
  };
  try {
    await port.open(settings, {
      data: (bytes) => {
        chunks.push(bytes);
        received += bytes.length;
        last = now();
      },
      closed: () => undefined,
    });
  } catch (error) {
    if (!(error instanceof InputError) || error.code !== "no-rate") throw error;
    return { ...result(0), verdict: "port refuses the rate" };
  }
  try {
    await port.discard();
    const characterTime = (frame.bits * 1000) / rate;
    const count = Math.max(AHEAD, Math.ceil((seconds * 1000) / characterTime));
    // A slow line is not tested for longer than asked for just to fill the first lot.
    const wanted = Math.min(count, Math.max(16, Math.ceil((seconds * 1000) / characterTime)));
    let sent = 0;
    last = now();
    while (sent < wanted && !signal?.aborted) {
      const piece = sequence(Math.min(CHUNK, wanted - sent), frame.data, sent);
      await port.write(piece);
      sent += piece.length;
      const patience = QUIET + AHEAD * characterTime;
      const from = now();
      while (sent - received > AHEAD && now() - Math.max(last, from) < patience && !signal?.aborted) await wait(2);
      if (received === 0 && sent > AHEAD) break;
    }
    await port.drain();
    const end = now();
    while (received < sent && now() - Math.max(last, end) < QUIET + AHEAD * characterTime && !signal?.aborted)
      await wait(5);
    return result(sent);
  } finally {
    await port.close();
  }
}

/** “Line good to 9600 bit/s, errors from 19200 bit/s.” */
export function lineVerdict(results: readonly RateResult[], shown: (rate: number) => string): string {
  const tried = results.filter((each) => each.verdict !== "port refuses the rate");
  if (tried.length === 0) return "The port takes none of these rates.";
  const firstBad = tried.findIndex((each) => each.verdict !== "good");
  if (firstBad < 0) return `Line good to ${shown(tried.at(-1)!.rate)}, the highest that was tried.`;
  const bad = tried[firstBad]!;
  const what = bad.verdict === "errors" ? "errors" : "nothing comes back";
  return firstBad === 0
    ? `Line not good: ${what} at ${shown(bad.rate)} already.`
    : `Line good to ${shown(tried[firstBad - 1]!.rate)}, ${what} from ${shown(bad.rate)}.`;
}

/** Which of the lines that come in follow one that is driven; "stuck" ones follow none. */
export interface ControlResult {
  follows: { dtr: (keyof LinesIn)[]; rts: (keyof LinesIn)[] };
  idle: LinesIn;
}

/** Ms that a driver and an adapter take to tell of a change: common practice, no source. */
const SETTLE = 50;

/** Switches DTR and RTS and sees what follows, for a plug that joins them to inputs. Undefined: there are no such lines. */
export async function testControls(port: LinePort, settings: LineSettings): Promise<ControlResult | undefined> {
  await port.open(settings, { data: () => undefined, closed: () => undefined });
  try {
    const look = async (lines: LinesOut) => {
      await port.setLines(lines);
      await wait(SETTLE);
      return port.readLines();
    };
    if (!(await port.readLines())) return undefined;
    const idle = await look({ dtr: false, rts: false });
    const [dtr, rts] = [await look({ dtr: true, rts: false }), await look({ dtr: false, rts: true })];
    const again = await look({ dtr: false, rts: false });
    if (!idle || !dtr || !rts || !again) return undefined;
    const names = ["cts", "dsr", "dcd"] as const;
    const following = (on: LinesIn) => names.filter((name) => !idle[name] && on[name] && !again[name]);
    return { follows: { dtr: following(dtr), rts: following(rts) }, idle };
  } finally {
    await port.close();
  }
}

/** What follows what, in words. */
export function controlWords({ follows, idle }: ControlResult): string[] {
  const driven = (name: "dtr" | "rts") =>
    `${name.toUpperCase()} ${follows[name].length > 0 ? `is followed by ${follows[name].map((each) => each.toUpperCase()).join(", ")}` : "is followed by nothing"}`;
  const stuck = (["cts", "dsr", "dcd"] as const).filter((each) => idle[each]);
  return [
    driven("rts"),
    driven("dtr"),
    ...(stuck.length > 0 ? [`${stuck.map((each) => each.toUpperCase()).join(", ")} on though nothing is driven`] : []),
  ];
}
