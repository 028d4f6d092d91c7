import type { Device } from "../cpu/index.ts";
import type { Serial } from "./serial.ts";
import type { Unit } from "./unit.ts";

/**
 * A serial part on the CPU's bus. Offsets of its registers are counted from the first one. The machine stops at `next`, so a
 * read never finds anything overdue.
 */
export interface Uart extends Unit, Device {
  readonly serial: Serial;
  readonly registers: number;
  /** Whether the part asserts RTS and DTR. */
  readonly rts: boolean;
  readonly dtr: boolean;
  /** Makes the two halves follow the registers, as after a return to a kept moment. */
  apply(): void;
}

/** How a part's clock gives a bit, in cycles of the CPU, for a division chosen in the part. */
export type BitOf = (division: number) => number;
