import type { Moment, Rehearsal } from "@rouse/core/rehearse";
import { registerLines } from "./rehearse-text.ts";

/** What the keyboard does behind the command key. */
export const COMMANDS: readonly (readonly [key: string, what: string])[] = [
  ["q", "quit"],
  ["p", "pause, or go on"],
  ["s", "pause, and run one instruction"],
  ["f", "true speed, or as fast as it goes"],
  ["k", "keep this moment"],
  ["b", "go back to the kept moment"],
  ["r", "show registers, or not"],
  ["t", "sit at the next terminal"],
];

/** Ctrl-_ (US), as at `rouse talk`. */
const KEY = 0x1f;
/** Milliseconds from one picture to the next. */
const FRAME = 40;
/** As fast as it goes: seconds of the machine run between two looks at the keyboard. */
const STRETCH = 0.5;
/** Behind by more than this many ms, the machine no longer catches up. */
const MOST_BEHIND = 250;

export interface DeskOptions {
  /** Puts text on the person's screen. */
  show: (text: string) => void;
  /** Milliseconds that never go back. */
  clock: () => number;
  trueSpeed: boolean;
  /** Terminal to begin at; that of the show where none is named. */
  terminal?: string;
}

/** The keyboard and picture of a rehearsal in a terminal: keys go to the machine's terminal, but for the command key's. */
export class Desk {
  private readonly machine: Rehearsal;
  private readonly options: DeskOptions;
  private paused = false;
  private trueSpeed: boolean;
  private registers = false;
  private command = false;
  private kept: Moment | undefined;
  private said = "Ctrl-_ q quits; p pause, s step, f speed, k keep, b back, r registers, t terminal";
  private last: number;
  private speed = 1;
  private ended = false;
  private terminal: string | undefined;

  constructor(machine: Rehearsal, options: DeskOptions) {
    this.machine = machine;
    this.options = options;
    this.trueSpeed = options.trueSpeed;
    this.terminal = options.terminal ?? machine.mainTerminal;
    this.last = options.clock();
  }

  get over(): boolean {
    return this.ended;
  }

  typed(bytes: Uint8Array): void {
    for (const byte of bytes) {
      if (this.command) {
        this.command = false;
        if (byte === KEY) this.machine.type("\u001f", this.terminal);
        else this.obey(String.fromCharCode(byte));
      } else if (byte === KEY) this.command = true;
      else if (byte > 0x7f) this.said = "a terminal has no key for characters beyond ISO 646";
      // The key that hosts send for “back” is DEL; terminals of the time have BS there.
      else this.machine.type(byte === 0x7f ? "\b" : String.fromCharCode(byte), this.terminal);
    }
  }

  /** Runs what is due since the last call, paints, and gives the milliseconds to wait. */
  turn(): number {
    const { clock } = this.options;
    const now = clock();
    if (!this.paused) {
      const seconds = this.trueSpeed ? Math.min(now - this.last, MOST_BEHIND) / 1000 : STRETCH;
      const ending = this.machine.run({ seconds });
      const took = (clock() - (this.trueSpeed ? this.last : now)) / 1000;
      this.speed = seconds / Math.max(took, 1e-3);
      if (ending === "breakpoint" || ending === "stopped") {
        this.paused = true;
        this.said = ending === "breakpoint" ? "stopped before a breakpoint" : "the CPU met an opcode without a meaning";
      }
    }
    this.last = now;
    this.paint();
    return this.trueSpeed || this.paused ? FRAME : 0;
  }

  private obey(key: string): void {
    switch (key) {
      case "q":
        this.ended = true;
        return;
      case "p":
        this.paused = !this.paused;
        this.said = "";
        return;
      case "s":
        this.paused = true;
        this.registers = true;
        this.machine.step();
        this.said = "";
        return;
      case "f":
        this.trueSpeed = !this.trueSpeed;
        return;
      case "k":
        this.kept = this.machine.save();
        this.said = `kept at ${this.machine.seconds.toFixed(2)} s`;
        return;
      case "b":
        if (this.kept) this.machine.load(this.kept);
        this.said = this.kept ? `back at ${this.machine.seconds.toFixed(2)} s` : "no moment is kept yet";
        return;
      case "r":
        this.registers = !this.registers;
        return;
      case "t": {
        const { terminals } = this.machine;
        this.terminal = terminals[(terminals.indexOf(this.terminal ?? "") + 1) % terminals.length];
        this.said = `at ${this.terminal}`;
        return;
      }
      default:
        this.said = COMMANDS.map(([each, what]) => `${each} ${what}`).join("; ");
    }
  }

  private paint(): void {
    const { lines, columns, cursor } = this.machine.screen(this.terminal);
    const state = this.machine.state();
    const edge = "─".repeat(columns);
    const pace = this.paused ? "paused" : `${this.speed < 10 ? this.speed.toFixed(1) : Math.round(this.speed)}×`;
    const drives = state.drives.map(
      (each) => `${each.name} track ${each.track}, side ${each.side}${each.busy ? ", busy" : ""}`,
    );
    const rows = [
      `┌${edge}┐`,
      ...lines.map((line) => `│${line.padEnd(columns)}│`),
      `└${edge}┘`,
      `${state.seconds.toFixed(2)} s, ${pace}; ${drives.join("; ")}`,
      ...(this.registers ? registerLines(state) : []),
      this.said,
    ];
    // ECMA-48: each row from its first column, the rest of the page erased, then the cursor where the terminal has it.
    const picture = rows.map((row, index) => `\u001b[${index + 1};1H${row}\u001b[K`).join("");
    this.options.show(`${picture}\u001b[J\u001b[${cursor.row + 2};${cursor.column + 2}H`);
  }
}
