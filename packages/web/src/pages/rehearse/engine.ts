import { InputError } from "@rouse/core/errors";
import type { Moment, Rehearsal } from "@rouse/core/rehearse";
import { runsOf } from "@rouse/core/show";
import type { About, Asked, Frame, Pause, Shown, Told } from "./types.ts";

/** Milliseconds from one frame to the next, at least; frames also wait until the page has shown the last. */
const FRAME = 33;
/** The map and the code of a running machine change faster than anybody reads; ms. */
const SLOW = 200;
/** Milliseconds of work between two looks at what was asked. */
const SLICE = 12;
/** Behind by more than this many ms, the machine no longer catches up. */
const MOST_BEHIND = 250;
/** The speed is that of about so many ms. */
const SPEED_OVER = 1000;
/** Seconds of the machine between two looks at the clock. */
const STRETCH = 0.01;
const CODE_LINES = 14;
const MEMORY_BYTES = 128;
const MOST_MOMENTS = 20;

export interface EngineOptions {
  /** Milliseconds that never go back. */
  clock: () => number;
  tell: (told: Told) => void;
}

/** Runs a machine as the page asks, and tells what it shows. Whoever owns it calls `turn` again and again. */
export class Engine {
  private readonly machine: Rehearsal;
  private readonly clock: () => number;
  private readonly tell: (told: Told) => void;
  private pause: Pause | null = null;
  private fast = false;
  private readonly moments: { id: number; seconds: number; moment: Moment }[] = [];
  private nextMoment = 1;
  private lookAt: number | null = null;
  private codeFrom = -1;
  /** When it ran last, in ms of the clock. */
  private last: number;
  private ran = { machine: 0, took: 0 };
  /** Where `speed` is counted from. */
  private mark = { at: 0, machine: 0 };
  private speed: number | null = null;

  // What the page has been told.
  private waits = false;
  private dirty = true;
  private framed = Number.NEGATIVE_INFINITY;
  private slow = Number.NEGATIVE_INFINITY;
  private readonly told = new Map<string, string>();

  constructor(machine: Rehearsal, { clock, tell }: EngineOptions) {
    this.machine = machine;
    this.clock = clock;
    this.tell = tell;
    this.last = clock();
    this.mark.at = this.last;
  }

  get about(): About {
    const { machine } = this;
    return {
      cpu: machine.cpu,
      hertz: machine.hertz,
      terminals: machine.terminals.map((name) => {
        const { title } = machine.screen(name);
        const { columns, rows, paper } = machine.screenOf(name).ability;
        return { name, title, columns, rows, paper };
      }),
      mainTerminal: machine.mainTerminal ?? null,
      drives: machine.drives(),
      assumed: machine.assumed,
    };
  }

  obey(asked: Exclude<Asked, { kind: "switch on" }>): void {
    if (asked.kind === "seen") {
      this.waits = false;
      return;
    }
    this.dirty = true;
    try {
      this.act(asked);
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      this.tell({ kind: "notice", sentence: error.message });
    }
  }

  /** Runs what is due, tells it, and gives the milliseconds until the next call; Infinity until something is asked. */
  turn(): number {
    const now = this.clock();
    const behind = this.pause === null ? this.run(now) : 0;
    this.last = now - behind;
    if (!this.waits && this.dirty && this.clock() - this.framed >= FRAME) this.show();
    if (this.pause === null) return this.fast || behind > 0 ? 0 : FRAME / 2;
    return this.dirty && !this.waits ? FRAME : Number.POSITIVE_INFINITY;
  }

  /** Gives the milliseconds by which it is behind. */
  private run(now: number): number {
    const { machine } = this;
    const until = this.fast
      ? Number.POSITIVE_INFINITY
      : machine.seconds + Math.min(now - this.last, MOST_BEHIND) / 1000;
    const before = machine.seconds;
    while (machine.seconds < until) {
      const ending = machine.run({ seconds: Math.min(STRETCH, until - machine.seconds) });
      if (ending === "breakpoint" || ending === "stopped") {
        this.stand(ending);
        break;
      }
      if (this.clock() - now >= SLICE) break;
    }
    this.dirty = true;
    const after = this.clock();
    this.ran.machine += machine.seconds - before;
    this.ran.took += (after - (this.fast ? now : Math.min(now, this.last))) / 1000;
    if (after - this.mark.at >= SPEED_OVER) {
      this.speed = ((this.ran.machine - this.mark.machine) * 1000) / (after - this.mark.at);
      this.mark = { at: after, machine: this.ran.machine };
    }
    return this.fast || this.pause !== null ? 0 : Math.max(0, until - machine.seconds) * 1000;
  }

  private stand(why: Pause): void {
    this.pause = why;
    this.speed = null;
    this.slow = Number.NEGATIVE_INFINITY;
  }

  private begin(): void {
    if (this.machine.state().condition === "stopped") return;
    this.pause = null;
    this.mark = { at: this.clock(), machine: this.ran.machine };
    this.last = this.mark.at;
    this.speed = null;
  }

  private act(asked: Exclude<Asked, { kind: "switch on" | "seen" }>): void {
    const { machine } = this;
    switch (asked.kind) {
      case "go":
        this.begin();
        return;
      case "pause":
        if (this.pause === null) this.stand("pause");
        return;
      case "step":
        if (this.pause === null) this.stand("pause");
        else machine.step();
        if (machine.state().condition === "stopped") this.stand("stopped");
        else if (this.pause !== null) this.stand("pause");
        return;
      case "pace":
        this.fast = asked.fast;
        if (this.pause === null) this.begin();
        return;
      case "type":
        machine.type(asked.text, asked.terminal);
        return;
      case "breakpoints":
        machine.breakpoints.clear();
        for (const at of asked.at) machine.breakpoints.add(at & 0xffff);
        return;
      case "keep":
        if (this.moments.length === MOST_MOMENTS)
          throw new InputError("many-moments", `${MOST_MOMENTS} moments are kept; drop one of them first.`);
        this.moments.push({ id: this.nextMoment++, seconds: machine.seconds, moment: machine.save() });
        return;
      case "back": {
        const found = this.moments.find(({ id }) => id === asked.moment);
        if (!found) return;
        machine.load(found.moment);
        if (this.pause !== null) this.stand("pause");
        return;
      }
      case "drop": {
        const at = this.moments.findIndex(({ id }) => id === asked.moment);
        if (at >= 0) this.moments.splice(at, 1);
        return;
      }
      default:
        this.lookAt = asked.at;
    }
  }

  private show(): void {
    const { machine, told } = this;
    const now = this.clock();
    const isSlow = this.pause !== null || now - this.slow >= SLOW;
    if (isSlow) this.slow = now;
    const frame: Frame = {
      pause: this.pause,
      speed: this.speed,
      ran: { ...this.ran },
      state: machine.state(),
      moments: this.moments.map(({ id, seconds }) => ({ id, seconds })),
    };
    /** A part is told where it has changed since it was told last. */
    const part = <Key extends keyof Frame>(key: Key, value: Frame[Key]): void => {
      const text = JSON.stringify(value);
      if (told.get(key) === text) return;
      told.set(key, text);
      frame[key] = value;
    };
    part(
      "terminals",
      machine.terminals.map((name) => this.shown(name)),
    );
    if (isSlow) {
      part("code", this.code());
      part("picture", machine.memoryPicture());
      part("memory", this.memory());
    }
    this.framed = now;
    this.waits = true;
    this.dirty = this.pause === null || !isSlow;
    this.tell({ kind: "frame", frame });
  }

  private shown(name: string): Shown {
    const screen = this.machine.screenOf(name);
    const { cursor, bells, received, faults } = this.machine.screen(name);
    return {
      name,
      rows: Array.from({ length: screen.rows }, (_, row) => runsOf(screen, row)),
      cursor,
      bells,
      received,
      faults,
    };
  }

  /** From where the code shown began, as long as the next instruction stands in its first lines; else from that. */
  private code(): Frame["code"] {
    const { address } = this.machine.state().next;
    if (this.codeFrom >= 0) {
      const lines = this.machine.disassemble(this.codeFrom, CODE_LINES);
      const at = lines.findIndex((each) => each.address === address);
      if (at >= 0 && at < CODE_LINES - 4) return lines;
    }
    this.codeFrom = address;
    return this.machine.disassemble(address, CODE_LINES);
  }

  private memory(): Frame["memory"] {
    const { lookAt } = this;
    if (lookAt === null) return null;
    const bytes = Array.from(
      { length: MEMORY_BYTES },
      (_, index) => this.machine.peek((lookAt + index) & 0xffff) ?? null,
    );
    return { at: lookAt, bytes };
  }
}
