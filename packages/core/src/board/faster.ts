import type { BenchPath } from "../bench/index.ts";
import type { Catalogue, Source } from "../catalogue/index.ts";
import { FAMILIES, FAMILY_SOURCE, FASTER, type Family } from "./families.ts";
import type { Span } from "./timing.ts";

/** What a faster part would buy. */
export interface Change {
  /** "74F in place of 74LS", "4164-15 in place of 4164-20". */
  what: string;
  /** Time by which the data come sooner, s. */
  gained: number;
  /** Time by which the address is sooner at a memory that a strobe starts, s. */
  early: number;
  /** Clock that then holds, Hz. */
  fastest: number;
  source?: Source;
}

/** What decides how fast a read can be. Times in s; `periods` and `strobe` in periods of the clock. */
export interface Reach {
  /** From the start of the cycle to the edge that takes the data. */
  periods: number;
  /** Delays up to the memory; and from there on, set-up and edge included. */
  before: number;
  after: number;
  /** When the clock starts the memory. A dynamic memory takes its row address then: what comes later is lost. */
  strobe?: { at: number; takesRow: boolean };
}

/** Fastest clock at which all of it fits, Hz; a strobe that the clock gives comes sooner with a faster clock. */
export function fastestFor({ periods, before, after, strobe }: Reach): number {
  const straight = periods / (before + after);
  if (!strobe) return straight;
  const fromStrobe = Math.max(0, periods - strobe.at) / after;
  return Math.min(fromStrobe, strobe.takesRow ? strobe.at / before : straight);
}

/** Number of a logic function: 244 of SN74LS244N. */
export const functionOf = (part: string): string | undefined => /LS(\d{2,3})/.exec(part)?.[1];

interface ChangeInput {
  path: BenchPath;
  reach: Reach;
  /** Clock now, Hz. */
  clock: number;
  catalogue: Catalogue;
  spans: readonly Span[];
}

/** What faster parts would buy: memory of a better grade, and logic of another family. */
export function changesOf({ path, reach, clock, catalogue, spans }: ChangeInput): Change[] {
  const changes: Change[] = [];
  const now = fastestFor(reach);
  const strobe = reach.strobe && reach.strobe.at / clock;
  const propose = (what: string, before: number, behind: number, source: Source) => {
    const fastest = fastestFor({ ...reach, before: reach.before - before, after: reach.after - behind });
    // Before a strobe faster logic only makes the wait longer.
    const sooner =
      strobe === undefined ? before : Math.max(reach.before, strobe) - Math.max(reach.before - before, strobe);
    const gained = sooner + behind;
    const rises = fastest > now * (1 + 1e-9);
    if (gained > 0 || rises) changes.push({ what, gained, early: before, fastest, source });
  };
  const memory = path.memory?.chip?.memory;
  const access = (path.access ?? memory?.access?.value)?.high;
  const stem = path.memory?.chip?.part.replace(/-.*$/, "");
  if (memory && access !== undefined && stem)
    for (const part of [...catalogue.chips.keys()].filter((each) => each.startsWith(`${stem}-`))) {
      const other = catalogue.chips.get(part)?.memory;
      if (!other?.access || other.words !== memory.words || other.bits !== memory.bits) continue;
      const gain = access - other.access.value.value;
      if (gain > 0) propose(`${part} in place of ${path.memory!.part}`, 0, gain, other.access.source);
    }
  for (const family of FAMILIES) {
    const { before, behind } = gainOf(family, spans);
    if (before + behind > 0) propose(`${family} in place of 74LS`, before, behind, FAMILY_SOURCE);
  }
  return changes.sort((a, b) => b.gained - a.gained || b.fastest - a.fastest);
}

/** Time saved up to the memory and behind it where every LS part is of another family, as far as that has the function. */
function gainOf(family: Family, spans: readonly Span[]): { before: number; behind: number } {
  let [before, behind] = [0, 0];
  let passed = false;
  for (const span of spans) {
    if (span.kind === "memory") passed = true;
    const number = span.part === undefined || span.kind === "load" ? undefined : functionOf(span.part);
    const delay = number === undefined ? undefined : FASTER[number]?.[family];
    if (delay === undefined) continue;
    const gain = Math.max(0, span.to - span.from - delay * 1e-9);
    if (passed) behind += gain;
    else before += gain;
  }
  return { before, behind };
}
