import { asciiBytes, type CodeName } from "../bytes/index.ts";
import { type Ability, idealAbility } from "./ability.ts";
import { LF } from "./means.ts";
import { type Pace, Pacer } from "./pacer.ts";
import { Painter } from "./painter.ts";
import { Screen } from "./screen.ts";
import { Teletype } from "./teletype.ts";
import { View } from "./view.ts";

export interface TranslatorOptions {
  /** Lines wider than the terminal go on in the next row (unless said), or a part of the width is shown. */
  wide?: "reflow" | "pan";
  /** A last row that tells which part is shown; only where the terminal reaches every row. Off unless said. */
  status?: boolean;
  /** Without addressing: show the rows up to the cursor and go on (unless said), or send the whole screen at each change. */
  unreachable?: "follow" | "repaint";
  /** The terminal's variant of ISO 646. */
  code?: CodeName;
  /** Letters typed on a terminal of capitals go to the computer as they are, or as lower case. */
  typed?: "as typed" | "lower case";
  /** A byte of the keyboard that, followed by u, d, l, r or f, moves the part shown or lets it follow again. */
  panKey?: number;
  pace?: { toTerminal?: Pace; toHost?: Pace };
  /** "characters": DC3 and DC1 from the terminal hold its output; they are sent to the computer when it is too fast. */
  flow?: "none" | "characters";
}

/** What is to be sent now, and the time in ms at which to call `tick`, if any. */
export interface Sent {
  toTerminal: Uint8Array;
  toHost: Uint8Array;
  wake?: number;
}

const DC1 = 0x11;
const DC3 = 0x13;
/** Bytes waiting for the terminal at which the computer is stopped, and started again. */
const HIGH_WATER = 512;
const LOW_WATER = 128;

/**
 * Sits between a computer that writes for one screen and a terminal that is another. It shows the computer's screen as
 * far as the terminal is able: sends only what differs, places the cursor by whatever the terminal has, folds case,
 * reflows or pans wide lines, and paces both ways. Pure: bytes and times in ms in, bytes out.
 */
export class Translator {
  /** The computer's screen, and what the terminal shows by all that was sent to it. */
  readonly ideal: Screen;
  readonly shown: Screen;
  readonly #painter: Painter;
  readonly #teletype: Teletype | undefined;
  readonly #view: View;
  readonly #options: TranslatorOptions;
  readonly #status: boolean;
  readonly #toTerminal: Pacer;
  readonly #toHost: Pacer;
  readonly #keys: ReadonlyMap<number, string>;
  #panning = false;
  #stopped = false;

  constructor(idealSize: { columns: number; rows: number }, terminal: Ability, options: TranslatorOptions = {}) {
    this.#options = options;
    this.ideal = new Screen(idealAbility(idealSize.columns, idealSize.rows));
    this.#painter = new Painter(terminal);
    this.shown = this.#painter.model;
    this.#status = (options.status ?? false) && this.#painter.addresses && terminal.rows > 1;
    if (!this.#painter.addresses) this.#teletype = new Teletype(this.#painter, options.unreachable === "repaint");
    const code = options.code ?? "plain";
    this.#view = new View(terminal, { wide: options.wide ?? "reflow", status: this.#status, code });
    this.#toTerminal = new Pacer(options.pace?.toTerminal);
    this.#toHost = new Pacer(options.pace?.toHost);
    this.#keys = cursorKeys(terminal);
  }

  /** Brings the terminal, whose state nobody knows, to a blank screen (or a fresh line on paper). */
  start(now: number): Sent {
    const { means, model, ability } = this.#painter;
    if (means.clear) this.#painter.emit(means.clear);
    else {
      this.#painter.emit(means.newLine);
      if (!ability.paper && ability.scrolls) {
        this.#painter.emit(Array.from({ length: model.rows * 2 }, () => LF));
        if (means.home) this.#painter.emit(means.home);
      }
    }
    return this.#send(now);
  }

  fromHost(bytes: Uint8Array, now: number): Sent {
    this.#view.follow();
    // Never more at once than a line, so that no line passes unseen where lines can only be sent one after another.
    let from = 0;
    for (let i = 0; i < bytes.length; i++)
      if (bytes[i] === LF || i - from + 1 >= this.ideal.columns) {
        this.ideal.write(bytes, from, i + 1);
        this.#paint();
        from = i + 1;
      }
    this.ideal.write(bytes, from);
    this.#paint();
    this.#toHost.add(this.ideal.takeReplies());
    return this.#send(now);
  }

  fromTerminal(bytes: Uint8Array, now: number): Sent {
    const out: number[] = [];
    for (const raw of bytes) {
      const byte = this.#painter.ability.bits === 7 ? raw & 0x7f : raw;
      if (this.#panning) {
        this.#panning = false;
        this.#pan(String.fromCharCode(byte).toLowerCase());
      } else if (byte === this.#options.panKey) this.#panning = true;
      else if (this.#options.flow === "characters" && (byte === DC1 || byte === DC3))
        this.#toTerminal.held = byte === DC3;
      else {
        const key = this.#keys.get(byte);
        if (key) out.push(...asciiBytes(key));
        else out.push(this.#options.typed === "lower case" && byte >= 0x41 && byte <= 0x5a ? byte + 0x20 : byte);
      }
    }
    this.#toHost.add(Uint8Array.from(out));
    return this.#send(now);
  }

  tick(now: number): Sent {
    return this.#send(now);
  }

  #pan(direction: string): void {
    const { rows, columns } = this.shown;
    const [down, right] = [Math.max(1, rows >> 1), Math.max(1, columns >> 1)];
    if (direction === "u") this.#view.pan(-down, 0);
    else if (direction === "d") this.#view.pan(down, 0);
    else if (direction === "l") this.#view.pan(0, -right);
    else if (direction === "r") this.#view.pan(0, right);
    else if (direction === "f") this.#view.follow();
    else return;
    this.#paint();
  }

  #paint(): void {
    if (this.#teletype) {
      const end = this.#options.unreachable === "repaint" && !this.shown.ability.paper ? "whole" : "to the cursor";
      this.#teletype.paint(this.#view.picture(this.ideal, end));
    } else this.#painter.paint(this.#wanted());
    this.#toTerminal.add(this.#painter.take());
  }

  /** The picture, filled up to the whole screen, with the status line. */
  #wanted() {
    const picture = this.#view.picture(this.ideal, "whole");
    const { columns, rows } = this.shown;
    const height = rows - (this.#status ? 1 : 0);
    while (picture.rows.length < height)
      picture.rows.push({ characters: new Uint8Array(columns).fill(0x20), renditions: new Uint32Array(columns) });
    if (this.#status) picture.rows.push(this.#view.status(this.ideal));
    return picture;
  }

  #send(now: number): Sent {
    this.#toTerminal.add(this.#painter.take());
    const terminal = this.#toTerminal.take(now);
    const host = this.#toHost.take(now);
    let toHost = host.bytes;
    if (this.#options.flow === "characters") {
      const { waiting } = this.#toTerminal;
      if (!this.#stopped && waiting > HIGH_WATER) {
        this.#stopped = true;
        toHost = Uint8Array.of(DC3, ...toHost);
      } else if (this.#stopped && waiting < LOW_WATER) {
        this.#stopped = false;
        toHost = Uint8Array.of(DC1, ...toHost);
      }
    }
    const wakes = [terminal.wake, host.wake].filter((each) => each !== undefined);
    return { toTerminal: terminal.bytes, toHost, ...(wakes.length > 0 ? { wake: Math.min(...wakes) } : {}) };
  }
}

/**
 * Codes of the terminal's own that its cursor keys send, and the functions that the computer expects for them. The
 * format effectors (BS, HT, LF …) are keys of their own right and stay what they are.
 */
function cursorKeys({ codes }: Ability): ReadonlyMap<number, string> {
  const keys = new Map<number, string>();
  const finals: Readonly<Record<string, string>> = { up: "A", down: "B", right: "C", left: "D", home: "H" };
  for (const { act, bytes } of codes) {
    const final = finals[act];
    if (final && bytes.length === 1 && (bytes[0]! < 0x08 || bytes[0]! > 0x0d)) keys.set(bytes[0]!, `\u001b[${final}`);
  }
  return keys;
}

/** A translator between a screen of this size and this terminal. */
export const createTranslator = (
  idealSize: { columns: number; rows: number },
  terminal: Ability,
  options: TranslatorOptions = {},
): Translator => new Translator(idealSize, terminal, options);
