import { type CpuName, type Disassembled, disassemble } from "../assemble/index.ts";
import type { Bench } from "../bench/index.ts";
import { asciiBytes } from "../bytes/index.ts";
import { InputError } from "../errors/index.ts";
import { type MemoryPicture, pictureOf, stateText } from "../memory/index.ts";
import type { Screen } from "../terminal/index.ts";
import { Machine } from "./machine.ts";
import type { Station } from "./station.ts";
import type {
  DriveShape,
  Ending,
  Moment,
  RehearsalFiles,
  RehearsalOptions,
  RehearsalState,
  TerminalView,
} from "./types.ts";
import { copyOf, restoreInto } from "./unit.ts";

/** Between two looks at `until`, at most, in seconds of the machine. */
const LOOK = 0.02;

/** A bench that runs. All times are the machine's own; nothing here knows the time of day. */
export class Rehearsal {
  /** Addresses before whose instruction `run` stops. */
  readonly breakpoints = new Set<number>();
  /** What had to be taken for granted, in sentences. */
  readonly assumed: readonly string[];
  private readonly machine: Machine;
  private readonly shown: Station | undefined;

  constructor(bench: Bench, files: RehearsalFiles, options: RehearsalOptions) {
    this.machine = new Machine(bench, files, options);
    this.assumed = this.machine.assumed;
    const { stations } = this.machine.wiring;
    const wanted = bench.show?.terminal?.name ?? bench.cables.find(({ from }) => from === bench.show?.port)?.to.name;
    this.shown = stations.find(({ terminal }) => terminal.name === wanted) ?? stations[0];
  }

  /** Cycles a second of the CPU's clock. */
  get hertz(): number {
    return this.machine.hertz;
  }
  get cycles(): number {
    return this.machine.bus.clock;
  }
  /** Seconds since power-on. */
  get seconds(): number {
    return this.cycles / this.hertz;
  }
  /** The instructions that its CPU knows. */
  get cpu(): CpuName {
    return this.machine.cpu.name;
  }
  /** The terminal that is meant where none is named. */
  get mainTerminal(): string | undefined {
    return this.shown?.terminal.name;
  }
  get terminals(): readonly string[] {
    return this.machine.wiring.stations.map(({ terminal }) => terminal.name);
  }

  /** Runs for a time, in whole instructions, or until `until` is true or something stops it. */
  run(time: { cycles: number } | { seconds: number }, until?: () => boolean): Ending {
    const { machine } = this;
    const { bus, cpu } = machine;
    const end = bus.clock + ("cycles" in time ? time.cycles : time.seconds * this.hertz);
    while (bus.clock < end) {
      const next = until ? Math.min(end, bus.clock + LOOK * this.hertz) : end;
      if (this.breakpoints.size > 0 && cpu.condition === "runs") {
        if (machine.walk(next, this.breakpoints)) return "breakpoint";
      } else machine.slice(next);
      if (until?.()) return "until";
      if (cpu.condition === "stopped") return "stopped";
    }
    return "time";
  }

  /** Runs until a terminal has shown a text, counted from `from` characters on; for `seconds` at most. */
  runUntilShown(text: string, seconds: number, from = 0, terminal?: string): Ending {
    const station = this.station(terminal);
    let looked = Math.max(0, from);
    return this.run({ seconds }, () => {
      if (station.state.count === looked + text.length - 1) return false;
      const at = this.received(terminal).indexOf(text, looked);
      looked = Math.max(looked, station.state.count - text.length + 1);
      return at >= 0;
    });
  }

  /** One instruction, or a cycle where the CPU waits. */
  step(): void {
    this.machine.step();
  }

  screen(terminal?: string): TerminalView {
    const { terminal: bench, screen, state } = this.station(terminal);
    return {
      name: bench.name,
      title: bench.title,
      columns: screen.columns,
      rows: screen.rows,
      lines: screen.lines(),
      cursor: { row: screen.cursor.row, column: screen.cursor.column },
      bells: screen.bells,
      received: state.count,
      faults: state.faults,
    };
  }

  /** A terminal's screen itself, to be looked at; it goes on with the machine, and is another one after `load`. */
  screenOf(terminal?: string): Screen {
    return this.station(terminal).screen;
  }

  /** All characters that a terminal received, as they came; bytes above 7F as the characters of ISO 8859-1. */
  received(terminal?: string): string {
    let text = "";
    for (const byte of this.station(terminal).received) text += String.fromCharCode(byte);
    return text;
  }

  /** Lets a person type: each key at its time, by the terminal's own rate. Throws an `InputError` beyond ISO 646. */
  type(text: string, terminal?: string): void {
    const other = [...text].find((each) => each > "\u007f");
    if (other !== undefined)
      throw new InputError("no-key", `“${other}” is no character of ISO 646: a terminal has no key for it.`);
    this.station(terminal).type(asciiBytes(text));
  }

  state(): RehearsalState {
    const { cpu, drives, controller, space } = this.machine;
    const pc = cpu.get("PC");
    return {
      cycles: this.cycles,
      seconds: this.seconds,
      condition: cpu.condition,
      registers: cpu.registers.map(({ name, bits, flags }) => ({
        name,
        bits,
        value: cpu.get(name),
        ...(flags === undefined ? {} : { flags }),
      })),
      next: { address: pc, text: this.disassemble(pc, 1)[0]!.text },
      memory: stateText(space.state),
      drives: drives.map(({ image, state, blocks }) => ({
        name: image.drive!.name,
        ...(image.drive!.class === undefined ? {} : { class: image.drive!.class }),
        track: state.track,
        side: state.side,
        turning: state.motorOn >= 0,
        busy: controller?.busy ?? false,
        reads: state.reads,
        writes: state.writes,
        block: state.last,
        ...(state.last < 0 ? {} : { place: blocks.place(state.last) }),
      })),
    };
  }

  /** The drives with a disk in them, in the order of `state().drives`. */
  drives(): DriveShape[] {
    return this.machine.drives.map(({ image, blocks: { geometry }, tracks, sides }) => ({
      name: image.drive!.name,
      image: image.name,
      geometry,
      tracks,
      sides,
    }));
  }

  /** What the CPU sees now, for a drawing. */
  memoryPicture(): MemoryPicture {
    const { map, space } = this.machine;
    return pictureOf(map, space.state);
  }

  /** Instructions from an address on, as the CPU sees memory now. */
  disassemble(address: number, count: number): Disassembled[] {
    const lines: Disassembled[] = [];
    for (let at = address & 0xffff; lines.length < count; ) {
      const line = disassemble(this.machine.cpu.name, (each) => this.peek(each) ?? 0xff, at);
      lines.push(line);
      at = (at + line.bytes.length) & 0xffff;
    }
    return lines;
  }

  /** A byte of memory as the CPU sees it; undefined where a device or nothing answers. */
  peek(address: number): number | undefined {
    return this.machine.space.peek(address & 0xffff);
  }

  /** Keeps this moment. It holds no reference to the machine and may be returned to any number of times. */
  save(): Moment {
    const { bus, cpu, space, units, wiring, drives } = this.machine;
    return {
      clock: bus.clock,
      cpu: cpu.save(),
      memory: bus.memory.slice(),
      map: space.state,
      latches: new Map(this.machine.latchBytes),
      units: [...units, ...drives].map(({ state }) => copyOf(state)),
      receivers: wiring.stations.map(({ receiver }) => copyOf(receiver.state)),
      wires: wiring.wires.map(({ state }) => copyOf(state)),
      stations: wiring.stations.map((each) => each.keep()),
      written: drives.map(({ written }) => new Map(written)),
    };
  }

  /** Returns to a moment of the same bench. Throws an `InputError` for one that is of another. */
  load(moment: Moment): void {
    const { machine } = this;
    const { bus, cpu, units, wiring, drives } = machine;
    const all = [...units, ...drives];
    if (
      moment.memory.length !== bus.memory.length ||
      moment.units.length !== all.length ||
      moment.wires.length !== wiring.wires.length ||
      moment.stations.length !== wiring.stations.length
    )
      throw new InputError("other-bench", "This moment was kept on another bench.");
    bus.clock = moment.clock;
    bus.memory.set(moment.memory);
    cpu.restore(moment.cpu);
    machine.space.state = moment.map;
    machine.latchBytes = new Map(moment.latches);
    for (const [index, unit] of all.entries()) restoreInto(unit.state, moment.units[index]!);
    for (const [index, each] of wiring.wires.entries()) restoreInto(each.state, moment.wires[index]!);
    for (const [index, each] of wiring.stations.entries()) {
      restoreInto(each.receiver.state, moment.receivers[index]!);
      each.putBack(moment.stations[index]!);
    }
    for (const [index, each] of drives.entries()) each.written = new Map(moment.written[index]);
    for (const { uart } of wiring.ports) uart.apply();
    machine.forgetLines();
    machine.settle();
  }

  private station(name: string | undefined): Station {
    const { stations } = this.machine.wiring;
    const found = name === undefined ? this.shown : stations.find(({ terminal }) => terminal.name === name);
    if (found) return found;
    throw new InputError(
      "no-terminal",
      name === undefined
        ? "No terminal is on this bench; describe one under terminals, and its cable."
        : `There is no terminal “${name}” on this bench; there is ${this.terminals.map((each) => `“${each}”`).join(", ")}.`,
    );
  }
}

/** Wires the bench up and switches it on. Throws an `InputError` that names what it lacks. */
export const createRehearsal = (bench: Bench, files: RehearsalFiles, options: RehearsalOptions = {}): Rehearsal =>
  new Rehearsal(bench, files, options);
