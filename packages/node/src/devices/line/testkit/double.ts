import { InputError } from "@rouse/core/errors";
import type { LineEvents, LinePort, LineSettings, LinesIn, LinesOut } from "../port.ts";

export interface DoubleOptions {
  /** What becomes of bytes on the way to the other end; as they are unless said. */
  wire?: (bytes: Uint8Array, settings: LineSettings) => Uint8Array;
  /** Rates that the port refuses. */
  refuses?: (rate: number) => boolean;
  /** Without control lines, as a pty. */
  noLines?: boolean;
}

/** A port in memory: joined to another as by a null modem, or to itself as by a loopback plug. */
export class DoublePort implements LinePort {
  readonly path: string;
  readonly breaks: number[] = [];
  lines: LinesOut = { dtr: true, rts: true };
  settings: LineSettings | undefined;
  #peer: DoublePort = this;
  readonly #options: DoubleOptions;
  #events: LineEvents | undefined;
  #pulled = false;

  constructor(path: string, options: DoubleOptions = {}) {
    this.path = path;
    this.#options = options;
  }

  static pair(options: DoubleOptions = {}): [DoublePort, DoublePort] {
    const [one, other] = [new DoublePort("/dev/one", options), new DoublePort("/dev/other", options)];
    one.#peer = other;
    other.#peer = one;
    return [one, other];
  }

  open(settings: LineSettings, events: LineEvents): Promise<void> {
    if (this.#pulled) return Promise.reject(new InputError("no-port", `There is no port ${this.path}.`));
    if (this.#options.refuses?.(settings.rate))
      return Promise.reject(new InputError("no-rate", `${this.path} can not be set to ${settings.rate} bit/s.`));
    this.settings = settings;
    this.#events = events;
    return Promise.resolve();
  }

  write(bytes: Uint8Array): Promise<void> {
    if (!this.#events || !this.settings) return Promise.reject(new InputError("port-fault", "The port is closed."));
    const there = this.#options.wire?.(Uint8Array.from(bytes), this.settings) ?? Uint8Array.from(bytes);
    setImmediate(() => {
      if (there.length > 0) this.#peer.#events?.data(there);
    });
    return Promise.resolve();
  }

  drain(): Promise<void> {
    return new Promise((resolve) => setImmediate(resolve));
  }
  discard(): Promise<void> {
    return this.drain();
  }
  change(settings: LineSettings): Promise<void> {
    return this.#events ? this.open(settings, this.#events) : Promise.resolve();
  }
  sendBreak(ms: number): Promise<void> {
    this.breaks.push(ms);
    return Promise.resolve();
  }
  setLines(lines: LinesOut): Promise<void> {
    if (this.#options.noLines) return Promise.reject(new InputError("not-a-port", `${this.path} has no such setting.`));
    this.lines = { ...lines };
    return Promise.resolve();
  }
  readLines(): Promise<LinesIn | undefined> {
    const { dtr, rts } = this.#peer.lines;
    return Promise.resolve(this.#options.noLines ? undefined : { cts: rts, dsr: dtr, dcd: dtr });
  }
  close(): Promise<void> {
    const events = this.#events;
    this.#events = undefined;
    events?.closed(false);
    return Promise.resolve();
  }

  /** As if the adapter were pulled out of its socket, and put back. */
  pull(): void {
    this.#pulled = true;
    const events = this.#events;
    this.#events = undefined;
    events?.closed(true);
  }
  plugIn(): void {
    this.#pulled = false;
  }
}
