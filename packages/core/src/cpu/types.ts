/**
 * What every CPU of the house shares. A CPU runs whole instructions: it adds an instruction's cycles to the bus's clock when
 * it fetches the opcode, so a device that is read or written sees the clock of the instruction's end; interrupts are looked
 * at between instructions.
 */

/** The furthest that a deadline may be ahead of the clock, cycles. */
export const LONGEST = 2 ** 30;

/** What a CPU is wired to. Addresses are 0 to FFFF, values 0 to FF. */
export interface Bus {
  /** Cycles since power-on. The CPU adds an instruction's cycles, a slow device its wait states. */
  clock: number;
  /** `run` stops at this clock; a device that starts something sooner may lower it. At most LONGEST ahead. */
  deadline: number;
  /** The deadline less the clock. A CPU counts this one down, which is quick: it stays a small whole number. */
  left: number;
  /**
   * Four bytes from an address on, the first one lowest, where all are plain memory; else −1, and the CPU reads one by one.
   * Four times FF are −1 too.
   */
  ahead(address: number): number;
  read(address: number): number;
  write(address: number, value: number): void;
  /** Z80 only: a read from the port whose number is on A0 to A7, with B or A on A8 to A15. */
  input(port: number): number;
  /** Z80 only. */
  output(port: number, value: number): void;
  /** Z80 only: the byte on the data bus while the CPU acknowledges an INT. */
  acknowledge(): number;
}

/** Interrupt inputs: `true` is asserted (the pin is low). NMI acts once each time it becomes asserted, the rest while they are. */
export type Line = "NMI" | "FIRQ" | "IRQ" | "INT";

/** `waits`: for an interrupt (SYNC, CWAI, HALT); `stopped`: an opcode without a meaning was met and only a reset helps. */
export type Condition = "runs" | "waits" | "stopped";

export interface Register {
  name: string;
  bits: 1 | 2 | 8 | 16;
  /** For a flag register: one letter a bit, bit 7 first. */
  flags?: string;
}

/** Everything a CPU holds, as plain numbers: registers, latches and lines. The bus is not part of it. */
export type CpuState = Readonly<Record<string, number>>;

export interface Cpu {
  readonly name: "6809" | "6502" | "Z80";
  readonly bus: Bus;
  /** Registers that a programmer sees, in the order in which makers' manuals show them. */
  readonly registers: readonly Register[];
  readonly lines: readonly Line[];
  readonly condition: Condition;
  /** Address of the next instruction. */
  readonly pc: number;
  /** Value of a register of `registers`. Throws BugError for another name. */
  get(register: string): number;
  /** Sets a register of `registers`; surplus bits are cut off. Throws BugError for another name. */
  set(register: string, value: number): void;
  /** The reset pin, pulsed. */
  reset(): void;
  /** One instruction or the taking of one interrupt. Returns the cycles it took, wait states included. */
  step(): number;
  /** Runs whole instructions until the clock reaches `until`, or the bus's deadline where a device lowers it. */
  run(until: number): void;
  /** Drives an interrupt input. Throws BugError for one that this CPU doesn't have. */
  drive(line: Line, asserted: boolean): void;
  save(): CpuState;
  restore(state: CpuState): void;
}
