import type { MachineFault } from "../fault/machine.ts";

/** What may have to be exchanged or mended. */
export interface Suspect {
  /** Stable: `chip main 3`. */
  id: string;
  kind: "chip" | "address line" | "data line" | "select" | "refresh" | "latch" | "translation";
  /** As a person finds it: `U23 (4164: bit 3 of main)`. */
  title: string;
  /** The memory part it belongs to, where it is one; the chip's number in it, and the bits it carries. */
  part?: string;
  chip?: number;
  bits?: number;
  place?: string;
  board?: string;
  /** Address or data lines, by number; of a multiplexed address the number of the pin. */
  lines?: readonly number[];
}

/** A way in which a suspect can be bad, and what it does then. */
export interface Candidate {
  suspect: Suspect;
  /** `output always 1` */
  how: string;
  fault: MachineFault;
}
