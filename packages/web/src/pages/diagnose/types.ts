import type { Measurement, Over, Place, ProgramFile, Ranked, Report, TypeIn } from "@rouse/core/diagnose";
import type { PackedMemory } from "@rouse/core/memory";

/** What is to be made: names of tests in their order, where marches go, and where the program runs. */
export interface Wish {
  tests: readonly string[];
  over: readonly Over[];
  place: Place;
  at?: number;
  port?: string;
  seconds?: number;
  /** Bytes of the EPROM. */
  eprom?: number;
}

/** What there is to choose from on this bench. */
export interface Choices {
  computer: string;
  cpu: string;
  ports: readonly string[];
  hasWindow: boolean;
  hasTranslation: boolean;
  memory: PackedMemory;
}

/** A program in all its forms. */
export interface MadeProgram {
  id: string;
  cpu: string;
  place: Place;
  origin: number;
  entry: number;
  /** From its first byte to its last. */
  bytes: number;
  tests: readonly {
    letter: string;
    title: string;
    bytes?: number;
    left: readonly { from: number; to: number; view?: number; why: string }[];
  }[];
  notes: readonly string[];
  port: string;
  source: string;
  files: readonly ProgramFile[];
  typeIns: Readonly<Record<TypeIn, string>>;
}

/** The program run on the bench as it is described. */
export interface Ran {
  text: string;
  ended: boolean;
  /** Of the machine's time. */
  seconds: number;
  cycles: number;
}

export interface ReadReport {
  report: Report;
  /** The program that it was read with; `isOwn` where the report names it. */
  program: { id: string; tests: MadeProgram["tests"] };
  isOwn: boolean;
  ranked: readonly Ranked[];
  next?: Measurement;
}

/** What a worker is asked to do, with the bench file's text. */
export type Job =
  | { kind: "choices" }
  | { kind: "make"; wish: Wish }
  | { kind: "run"; wish: Wish; index: number }
  | { kind: "read"; wish: Wish; text: string };

export interface Answers {
  choices: Choices;
  make: readonly MadeProgram[];
  run: Ran;
  read: ReadReport;
}
