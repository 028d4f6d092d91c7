import type { Cpu, Site } from "./cpu.ts";

/** A directive, read once into a function that is called once a pass. It may throw a `LineError`. */
export type Directive = (pass: Placer) => void;

/** A module that is open in a pass. */
export interface OpenModule {
  /** Its first address, and its first byte's index in the pass's output. */
  address: number;
  output: number;
  /** Offset of the name, once placed. */
  name?: number;
  column: number;
}

/** What directives may do in a pass. Columns are those of the directive, for errors. */
export interface Placer extends Pick<Site, "evaluate" | "fail"> {
  /** Location counter. */
  readonly here: number;
  readonly cpu: Cpu | undefined;
  readonly module: OpenModule | undefined;
  /** Assumed direct page register of the 6809. */
  directPage: number;
  define(name: string, value: number, column: number): void;
  /** Notes a name of an `equ` whose value is not known. */
  leaveWithoutValue(name: string): void;
  emit(bytes: readonly number[]): void;
  fill(count: number, byte: number): void;
  /** Leaves a gap; inside a module, whose bytes are one piece, zeros. */
  reserve(count: number): void;
  moveTo(address: number, column: number): void;
  useCpu(name: string, column: number): void;
  include(name: string, column: number): void;
  openLayout(start: number, column: number): void;
  closeLayout(column: number): void;
  openModule(column: number): void;
  closeModule(column: number): void;
  end(start: number | undefined): void;
}
