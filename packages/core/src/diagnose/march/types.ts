/** The notation of the literature on memory tests (van de Goor, *Testing Semiconductor Memories*, 1991). */

/** ⇑ ascending, ⇓ descending, ⇕ either way (this house goes up). */
export type Direction = "up" | "down" | "either";

/** r0, r1: read and expect that value; w0, w1: write it. */
export interface MarchOperation {
  kind: "read" | "write";
  value: 0 | 1;
}

/** All operations on one cell, then the next cell. */
export interface MarchElement {
  direction: Direction;
  operations: readonly MarchOperation[];
  /** `Del`: wait before this element. */
  delay?: boolean;
}

export interface March {
  /** As it is named on the command line: `march-c-`. */
  id: string;
  /** As it is named on paper: `March C−`. */
  title: string;
  elements: readonly MarchElement[];
  /** Operations a cell. */
  length: number;
  source: string;
}
