import type { Source } from "../../catalogue/index.ts";
import type { Dimension } from "../../quantity/index.ts";

/** Links of the chain in which something can have failed; the audience never has. */
export type WhyLink =
  | "image"
  | "medium"
  | "drive"
  | "bus"
  | "board"
  | "memory"
  | "system"
  | "port"
  | "cable"
  | "terminal";

/** What a test can do to a person or a part; the codes are those of the cautions of a bench. */
export type Hazard = "mains" | "picture-tube" | "capacitors" | "static";

/**
 * How something fails: not at all there, there but not right, only once warm, only while cold, or now and then.
 */
export type Manner = "dead" | "wrong" | "warm" | "cold" | "sometimes";

/** What the prior of a cause is shared out by; the shares are in `rates.ts`. */
export type CauseClass = "part" | "contact" | "line" | "disk" | "system" | "other";

/** What a cause takes away, in one of the ways in which it shows. */
export interface Fault {
  /** A function of the machine, see `works.ts`. */
  node: string;
  manner: Manner;
  /** Share of this way among those of its cause; they sum to 1. */
  share: number;
  /** How surely what needs the function is seen to fail; by the manner where it is not said. */
  force?: number;
}

/** A part of this bench, a setting or a connection that may be why it does not start. */
export interface Cause {
  /** Stable while the bench keeps its names: `filter/+5 V`. */
  id: string;
  /** What tests ask for: `filter`, `chip`, `wire`. */
  kind: string;
  link: WhyLink;
  /** "U23 (4164)", "filter capacitor of +5 V" */
  part: string;
  class: CauseClass;
  /** Weight within its class: failures in a million hours by the count of parts and their wear, or a judgement. */
  weight: number;
  /** How the weight came about, in words, and who says so. */
  because: string;
  source: Source;
  faults: readonly Fault[];
  remedy: string;
  hazards: readonly Hazard[];
  /** Checks of the chain that speak of it, by id; `about` is the part of the bench that a finding must name. */
  checks: readonly string[];
  about?: string;
  /** Key in the bench file. */
  at?: string;
  /** Of a chip: which pieces of the board it works for, so that a test can tell neighbours apart. */
  board?: string;
  socketed?: boolean;
}

/** A finding of the chain, as far as it raises or lowers a cause. */
export interface WhyFinding {
  id: string;
  verdict: "runs" | "tight" | "stops" | "unknown";
  sentence: string;
}

/** `none`: nothing is opened; `low`: open, power off; `some`: open, power on; `high`: near mains, or a part may be lost. */
export type Risk = "none" | "low" | "some" | "high";

export interface Outcome {
  id: string;
  /** "4.75 V to 5.25 V", "moves on every line" */
  words: string;
  /** The same as a person would say it unasked: "dark screen". */
  sight?: string;
}

/** A reading that a test can take in place of a choice; limits are in the base unit. */
interface TestReading {
  dimension: Dimension;
  /** What a person may call it: "+5 V", "rail +5 V". */
  names: readonly string[];
  /** What it should be, in words. */
  wanted: string;
  outcomeOf(value: number): string;
  /** Why a value cannot be what was measured, as a sentence; undefined where it can. */
  doubt?(value: number): string | undefined;
}

export interface Test {
  id: string;
  kind: "look" | "measure" | "exchange" | "run";
  link: WhyLink;
  title: string;
  how: readonly string[];
  tools: readonly string[];
  outcomes: readonly Outcome[];
  /** Minutes of work (judgement), without what opening the case takes. */
  minutes: number;
  inside: boolean;
  risk: Risk;
  hazards: readonly Hazard[];
  /** How often it tells what is not so, whatever the fault (judgement). */
  misleads: number;
  reading?: TestReading;
  /** How likely each outcome is, in their order; need not sum to 1. */
  chances(fault: FaultInPlace): readonly number[];
}

/** A fault with what the tests need to know of it. */
export interface FaultInPlace extends Fault {
  cause: Cause;
  /** How surely that function is seen to fail, 0 to 1. */
  stops(node: string): number;
  is(...kinds: readonly string[]): boolean;
}

/** What was found at a test; several outcomes where it was one of them and it is not known which. */
export interface Answer {
  id: string;
  test: string;
  outcomes: readonly string[];
  /** As it was typed: "4.2 V". */
  reading?: string;
  /** When it was noted, ISO 8601. */
  at?: string;
}
