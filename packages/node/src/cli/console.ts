import { dump } from "@rouse/core/bytes";
import { formatValue } from "@rouse/core/quantity";
import type { LineSession, SessionEvent } from "../devices/line/index.ts";

/** What the keyboard does behind the command key. */
export const COMMANDS: readonly (readonly [key: string, what: string])[] = [
  ["q", "quit"],
  ["b", "send a break of 250 ms"],
  ["d", "switch DTR"],
  ["r", "switch RTS"],
  ["c", "show settings and control lines"],
  ["e", "local echo on or off"],
  ["x", "hex view on or off"],
  ["n", "next rate"],
  ["p", "paste a file: its name, then Enter"],
  ["s", "stop pasting"],
  ["h", "this list"],
];

/** A break long enough for any of the trade's rates: common practice, no source. */
const BREAK_MS = 250;
/** Rates that “next rate” goes through. */
const RATES: readonly number[] = [110, 300, 600, 1200, 2400, 4800, 9600, 19_200, 38_400, 57_600, 115_200];
const CR = 0x0d;
const BACKSPACES: readonly number[] = [0x08, 0x7f];

export interface ConsoleOptions {
  /** The command key's code. */
  key: number;
  keyName: string;
  echo: boolean;
  hex: boolean;
  /** Puts bytes on the person's screen. */
  show: (bytes: Uint8Array) => void;
  /** Sends a file at the pace asked for; `stop` ends it. */
  paste: (path: string, stop: AbortSignal) => Promise<string>;
  quit: () => void;
}

/** The keyboard and screen of a session: bytes go through as they are, but for the command key and what follows it. */
export class Console {
  readonly #session: LineSession;
  readonly #options: ConsoleOptions;
  #echo: boolean;
  #hex: boolean;
  #command = false;
  /** Set while a file's name is typed. */
  #name: string | undefined;
  #pasting: AbortController | undefined;

  constructor(session: LineSession, options: ConsoleOptions) {
    this.#session = session;
    this.#options = options;
    this.#echo = options.echo;
    this.#hex = options.hex;
    session.subscribe((event) => this.#event(event));
  }

  /** A line for the person, told apart from what the other end says. */
  say(text: string): void {
    this.#options.show(new TextEncoder().encode(`\r\n[${text}]\r\n`));
  }

  /** “Ctrl-_ is the command key: Ctrl-_ q quits, Ctrl-_ h lists the rest” */
  keys(): string {
    const { keyName } = this.#options;
    return `${keyName} is the command key: ${keyName} q quits, ${keyName} h lists the rest`;
  }

  /** What the keyboard sent. */
  async typed(bytes: Uint8Array): Promise<void> {
    let from = 0;
    for (const [at, byte] of bytes.entries()) {
      if (!this.#command && this.#name === undefined && byte !== this.#options.key) continue;
      await this.#send(bytes.subarray(from, at));
      from = at + 1;
      if (this.#name !== undefined) this.#spell(byte);
      else if (this.#command) {
        this.#command = false;
        await this.#obey(byte);
      } else this.#command = true;
    }
    await this.#send(bytes.subarray(from));
  }

  async #send(bytes: Uint8Array): Promise<void> {
    if (bytes.length === 0) return;
    try {
      await this.#session.write(bytes.slice());
      if (this.#echo && !this.#hex) this.#options.show(bytes);
    } catch (error) {
      this.say((error as Error).message);
    }
  }

  #spell(byte: number): void {
    const name = this.#name ?? "";
    if (byte === CR || byte === 0x0a) {
      this.#name = undefined;
      this.#paste(name.trim());
    } else if (byte === this.#options.key || byte === 0x1b) {
      this.#name = undefined;
      this.say("nothing pasted");
    } else if (BACKSPACES.includes(byte)) {
      this.#name = name.slice(0, -1);
      if (name !== "") this.#options.show(Uint8Array.of(8, 32, 8));
    } else {
      this.#name = name + String.fromCharCode(byte);
      this.#options.show(Uint8Array.of(byte));
    }
  }

  #paste(name: string): void {
    if (name === "") {
      this.say("nothing pasted");
      return;
    }
    const pasting = new AbortController();
    this.#pasting = pasting;
    this.#options.paste(name, pasting.signal).then(
      (told) => {
        this.#pasting = undefined;
        this.say(told);
      },
      (error: Error) => {
        this.#pasting = undefined;
        this.say(error.message);
      },
    );
  }

  async #obey(byte: number): Promise<void> {
    const session = this.#session;
    const { dtr, rts } = session.linesOut;
    try {
      if (byte === this.#options.key) await this.#send(Uint8Array.of(byte));
      else
        switch (String.fromCharCode(byte).toLowerCase()) {
          case "q":
            this.#pasting?.abort();
            this.#options.quit();
            break;
          case "b":
            await session.sendBreak(BREAK_MS);
            break;
          case "d":
            await session.setLines({ dtr: !dtr });
            break;
          case "r":
            await session.setLines({ rts: !rts });
            break;
          case "c":
            this.say(this.state());
            break;
          case "e":
            this.#echo = !this.#echo;
            this.say(`local echo ${this.#echo ? "on" : "off"}`);
            break;
          case "x":
            this.#hex = !this.#hex;
            this.say(`hex view ${this.#hex ? "on" : "off"}`);
            break;
          case "n": {
            const { settings } = session;
            const rate = RATES.find((each) => each > settings.rate) ?? RATES[0]!;
            await session.change({ ...settings, rate });
            break;
          }
          case "p":
            if (this.#pasting) this.say("a file is being pasted already");
            else {
              this.#name = "";
              this.#options.show(new TextEncoder().encode("\r\n[file to paste: "));
            }
            break;
          case "s":
            this.#pasting?.abort();
            break;
          default:
            this.say(COMMANDS.map(([key, what]) => `${key} ${what}`).join("; "));
        }
    } catch (error) {
      this.say((error as Error).message);
    }
  }

  /** “9600 bit/s, 8N1; DTR on, RTS on; CTS on, DSR off, DCD off” */
  state(): string {
    const { settings, linesIn, linesOut } = this.#session;
    const on = (name: string, value: boolean) => `${name} ${value ? "on" : "off"}`;
    const inward = linesIn
      ? [on("CTS", linesIn.cts), on("DSR", linesIn.dsr), on("DCD", linesIn.dcd)].join(", ")
      : "this port does not show control lines";
    return `${formatValue(settings.rate, "rate")}, ${settings.frame.text}; ${on("DTR", linesOut.dtr)}, ${on("RTS", linesOut.rts)}; ${inward}`;
  }

  #event(event: SessionEvent): void {
    if (event.kind === "in" || event.kind === "out") {
      if (this.#hex) this.#hexed(event.kind, event.bytes);
      else if (event.kind === "in") this.#options.show(event.bytes);
    } else if (event.kind === "lines" || event.kind === "settings") this.say(this.state());
    else if (event.kind === "break") this.say(`break of ${event.ms} ms sent`);
    else if (event.kind !== "link") return;
    else if (event.state === "lost") this.say("the adapter is gone; waiting for it to come back");
    else if (event.state === "open") this.say(`open: ${this.state()}`);
  }

  /** Rows of up to 16 bytes, marked by direction. */
  #hexed(way: "in" | "out", bytes: Uint8Array): void {
    const rows = dump(bytes).map(({ hex, text }) => `${way === "in" ? "<" : ">"} ${hex.padEnd(48)} ${text}\r\n`);
    this.#options.show(new TextEncoder().encode(rows.join("")));
  }
}
