import type { ParseArgsConfig } from "node:util";

/** One verb of the command: its own file, loaded only when it is asked for. */
export interface Verb {
  /** What comes after the verb: "[JOB]". */
  usage: string;
  /** Paragraphs of the help text, the first a sentence. */
  help: readonly string[];
  options: Record<string, NonNullable<ParseArgsConfig["options"]>[string] & { about: string; value?: string }>;
  examples: readonly (readonly [command: string, what: string])[];
  /** Gives the exit code: 0 well, 1 something stops, 2 bad input. */
  run(args: { positionals: readonly string[]; values: Record<string, unknown> }, out: Output): Promise<number>;
}

export interface Output {
  /** Prints a line. */
  line(text?: string): void;
  /** Columns that may be used. */
  width: number;
  colour: boolean;
}
