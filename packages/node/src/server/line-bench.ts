import type { Bench, BenchCable, BenchPort, BenchTerminal } from "@rouse/core/bench";
import { InputError } from "@rouse/core/errors";
import {
  asCable,
  type Contact,
  cableNets,
  cableProblems,
  contactsInWords,
  continuity,
  designCable,
  drawCable,
  flowOutcome,
  nearestStandardRate,
  portRate,
  readFrame,
  type Wiring,
} from "@rouse/core/line";
import { abilityOf } from "@rouse/core/terminal";
import { benchOfJob } from "../job/index.ts";
import type { Job } from "../store/index.ts";

/** A made rate so near to a standard one is meant to be it. */
const NEAR = 0.04;

/** An end of the bench's lines, with what a session with it is set to. */
interface BenchEnd {
  name: string;
  kind: "port" | "terminal";
  rate: number | null;
  frame: string | null;
  flow: "none" | "lines" | "characters";
  /** Ms from one character to the next, and after a line, at which it loses nothing; null where that is not known. */
  pace: { character: number; line: number } | null;
}

interface BenchScreen {
  name: string;
  title: string;
  columns: number;
  rows: number;
  bits: 7 | 8;
  upperOnly: boolean;
}

interface BenchLines {
  ends: readonly BenchEnd[];
  screens: readonly BenchScreen[];
  cables: readonly { name: string; from: string; to: string; kind: string }[];
  /** Why there is none of it, where that is so. */
  problem: string | null;
}

export type CableVariant = "as described" | "without handshake" | "with handshake";
export const CABLE_VARIANTS: readonly CableVariant[] = ["as described", "without handshake", "with handshake"];

/** A cable to look at: what is wrong with it, why it is so, and what a continuity tester must say. */
interface CableTold {
  name: string;
  variant: CableVariant;
  reasons: readonly string[];
  problems: readonly { grave: boolean; sentence: string }[];
  /** Contacts that are joined. */
  beep: readonly (readonly string[])[];
  /** Hold a probe on `on` and touch each of `against`: nothing may beep. */
  silent: readonly { on: string; against: string }[];
  silentPairs: number;
}

const rateOf = (end: BenchPort | BenchTerminal): number | null => {
  if ("title" in end) return end.rate?.value ?? null;
  const made = portRate(end);
  if (!made.known) return null;
  const near = nearestStandardRate(made.rate);
  return Math.abs(made.rate / near - 1) < NEAR ? near : Math.round(made.rate);
};

function endOf(end: BenchPort | BenchTerminal): BenchEnd {
  const kind = "title" in end ? "terminal" : "port";
  const [rate, format] = [rateOf(end), end.format ?? null];
  let pace: BenchEnd["pace"] = null;
  const buffer = end.buffer ?? ("chip" in end ? end.chip?.uart?.receiveBuffer : undefined);
  if (rate !== null && format !== null && end.away && buffer) {
    const frame = readFrame(format);
    const { perCharacter } = flowOutcome({ rate, frame, away: end.away.high, buffer, flow: "none" });
    pace = { character: Math.ceil((frame.bits / rate + perCharacter) * 1000), line: 0 };
  }
  return { name: end.name, kind, rate, frame: format, flow: end.handshake ?? "none", pace };
}

function screenOf(terminal: BenchTerminal): BenchScreen[] {
  if (!terminal.class) return [];
  const { columns, rows } = terminal;
  const size = { ...(columns ? { columns: columns.value } : {}), ...(rows ? { rows: rows.value } : {}) };
  const able = abilityOf(terminal.class, size);
  return [
    {
      name: terminal.name,
      title: terminal.title,
      columns: able.columns,
      rows: able.rows,
      bits: able.bits,
      upperOnly: able.upperOnly,
    },
  ];
}

/** What the bench file says of lines, and its cables drawn. */
export interface LineBench {
  lines(): Promise<BenchLines>;
  cable(name: string, variant: CableVariant): Promise<CableTold>;
  /** SVG. */
  drawing(name: string, variant: CableVariant): Promise<string>;
}

export function lineBench(job: Job): LineBench {
  const bench = async (): Promise<Bench> => {
    const read = await benchOfJob(job, ".");
    if ("bench" in read) return read.bench;
    throw new InputError("bad-bench", "The bench file cannot be used; the page Bench file shows why.");
  };
  const variantOf = async (name: string, variant: CableVariant) => {
    const cable = (await bench()).cables.find((each) => each.name === name);
    if (!cable) throw new InputError("no-such-cable", `There is no cable “${name}” on this bench.`);
    return madeAs(cable, variant);
  };
  return {
    async lines() {
      try {
        const { ports, terminals, cables } = await bench();
        return {
          ends: [...ports, ...terminals].map(endOf),
          screens: terminals.flatMap(screenOf),
          cables: cables.map(({ name, from, to, kind }) => ({
            name,
            from: from.name,
            to: to.name,
            kind: kind ?? "not known",
          })),
          problem: null,
        };
      } catch (error) {
        if (!(error instanceof InputError)) throw error;
        return { ends: [], screens: [], cables: [], problem: error.message };
      }
    },
    async cable(name, variant) {
      const { cable, reasons } = await variantOf(name, variant);
      const found = cableNets(cable);
      if (!found.known) throw unknownCable(cable, found.missing);
      const list = continuity(found.nets);
      const contact = ({ end, pin }: Contact): string => `${cable[end].name} ${pin}`;
      return {
        name,
        variant,
        reasons,
        problems: cableProblems(cable, found.nets).map(({ grave, sentence }) => ({ grave, sentence })),
        beep: found.nets.filter(({ pins }) => pins.length > 1).map(({ pins }) => pins.map(contact)),
        silent: list.shortly.map(({ on, against }) => ({
          on: contact(on),
          against: contactsInWords(against, (end) => cable[end].name),
        })),
        silentPairs: list.silent.length,
      };
    },
    async drawing(name, variant) {
      const { cable } = await variantOf(name, variant);
      const found = cableNets(cable);
      if (!found.known) throw unknownCable(cable, found.missing);
      return drawCable(cable, found.wiring satisfies Wiring);
    },
  };
}

const unknownCable = (cable: BenchCable, missing: readonly string[]): InputError =>
  new InputError("cable-unknown", `What ${cable.name} joins cannot be said without ${missing.join(", ")}.`);

/** A cable of the bench as it is, or as it would best be made. */
function madeAs(cable: BenchCable, variant: CableVariant): { cable: BenchCable; reasons: readonly string[] } {
  if (variant === "as described") return { cable, reasons: [] };
  const design = designCable(cable.from, cable.to, { handshake: variant === "with handshake" });
  if (!design.possible)
    throw new InputError("no-design", `No cable for ${cable.name} can be designed: ${design.why.join("; ")}.`);
  return { cable: asCable(cable.name, cable.from, cable.to, design.wiring), reasons: design.reasons };
}
