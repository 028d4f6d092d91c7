import { InputError } from "@rouse/core/errors";
import type { CaptureEvent } from "@rouse/core/show";
import type { CaptureFile } from "./capture-file.ts";
import type { LinePort, LineSettings, LinesIn, LinesOut } from "./port.ts";
import type { Way } from "./transfer.ts";

export type SessionEvent =
  | { kind: "in" | "out"; bytes: Uint8Array }
  | { kind: "lines"; in: LinesIn | undefined; out: LinesOut }
  | { kind: "settings"; settings: LineSettings }
  | { kind: "link"; state: LinkState }
  | { kind: "break"; ms: number };

/** "lost": the adapter went away; it is opened again as soon as it is back. */
export type LinkState = "open" | "lost" | "closed";

export interface SessionOptions {
  /** Takes down all that happens, if given. */
  capture?: CaptureFile;
  /** Ms between attempts to open a port that went away; 500 unless said. */
  retryEvery?: number;
}

/** What a window that joins late is shown, in bytes. */
const MOST_RECENT = 64 << 10;
const LOOK_AT_LINES_EVERY = 200;

/**
 * One port in use by any number of windows: each sees all that comes and goes; what they send is put on the line in
 * order. Survives a pulled adapter.
 */
export class LineSession implements Way {
  readonly path: string;
  readonly #port: LinePort;
  readonly #options: SessionOptions;
  readonly #listeners = new Set<(event: SessionEvent) => void>();
  #settings: LineSettings;
  #state: LinkState = "closed";
  #in: LinesIn | undefined;
  #out: LinesOut = { dtr: true, rts: true };
  #recent: Uint8Array[] = [];
  #recentLength = 0;
  #queue: Promise<void> = Promise.resolve();
  #looking: NodeJS.Timeout | undefined;
  #retrying: NodeJS.Timeout | undefined;
  /** Set once `close` is called, so that an attempt to open again in flight comes to nothing. */
  #over = false;

  constructor(port: LinePort, settings: LineSettings, options: SessionOptions = {}) {
    this.path = port.path;
    this.#port = port;
    this.#settings = settings;
    this.#options = options;
  }

  get state(): LinkState {
    return this.#state;
  }
  get settings(): LineSettings {
    return this.#settings;
  }
  get linesIn(): LinesIn | undefined {
    return this.#in;
  }
  get linesOut(): LinesOut {
    return this.#out;
  }
  /** The last 64 KiB that came in. */
  get recent(): Uint8Array {
    return Buffer.concat(this.#recent);
  }

  /** Calls `listener` for all that happens until the function given back is called. */
  subscribe(listener: (event: SessionEvent) => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  listen(onData: (bytes: Uint8Array) => void): () => void {
    return this.subscribe((event) => {
      if (event.kind === "in") onData(event.bytes);
    });
  }

  async open(): Promise<void> {
    await this.#port.open(this.#settings, {
      data: (bytes) => {
        this.#remember(bytes);
        this.#tell({ kind: "in", bytes }, { in: bytes });
      },
      closed: (lost) => {
        if (lost && !this.#over) this.#lost();
      },
    });
    this.#become("open");
    await this.#look();
  }

  /** Puts bytes on the line after all that was sent before; done when the system has taken them. */
  write(bytes: Uint8Array): Promise<void> {
    return this.#next(async () => {
      await this.#port.write(bytes);
      this.#tell({ kind: "out", bytes }, { out: bytes });
    });
  }

  drain(): Promise<void> {
    return this.#next(() => this.#port.drain());
  }

  sendBreak(ms: number): Promise<void> {
    return this.#next(async () => {
      await this.#port.sendBreak(ms);
      this.#tell({ kind: "break", ms }, { break: ms });
    });
  }

  setLines(lines: Partial<LinesOut>): Promise<void> {
    return this.#next(async () => {
      const wanted = { ...this.#out, ...lines };
      await this.#port.setLines(wanted);
      this.#out = wanted;
      this.#tell({ kind: "lines", in: this.#in, out: wanted }, { set: lines });
    });
  }

  /** Another rate or frame. Where the port refuses, it is set as it was. */
  change(settings: LineSettings): Promise<void> {
    return this.#next(async () => {
      try {
        await this.#port.change(settings);
      } catch (error) {
        await this.#port.change(this.#settings).catch(() => this.#lost());
        throw error;
      }
      this.#settings = settings;
      const told = { rate: settings.rate, frame: settings.frame.text };
      this.#tell({ kind: "settings", settings }, { settings: told });
    });
  }

  async close(): Promise<void> {
    if (this.#over) return;
    this.#over = true;
    clearTimeout(this.#looking);
    clearTimeout(this.#retrying);
    await this.#port.close();
    this.#become("closed");
    await this.#options.capture?.close();
  }

  #next(action: () => Promise<void>): Promise<void> {
    const mine = this.#queue.then(() => {
      if (this.#state === "open") return action();
      const why = this.#state === "closed" ? "is closed" : "is not plugged in";
      throw new InputError("port-gone", `${this.path} ${why}.`);
    });
    this.#queue = mine.catch(() => undefined);
    return mine;
  }

  #remember(bytes: Uint8Array): void {
    this.#recent.push(bytes);
    this.#recentLength += bytes.length;
    while (this.#recentLength - (this.#recent[0]?.length ?? 0) >= MOST_RECENT)
      this.#recentLength -= this.#recent.shift()?.length ?? 0;
  }

  #tell(event: SessionEvent, taken?: CaptureEvent): void {
    if (taken) this.#options.capture?.add(taken);
    for (const listener of [...this.#listeners]) listener(event);
  }

  #become(state: LinkState): void {
    const back = this.#state === "lost" && state === "open";
    this.#state = state;
    this.#tell({ kind: "link", state }, state === "lost" ? { link: "lost" } : back ? { link: "back" } : undefined);
  }

  #lost(): void {
    clearTimeout(this.#looking);
    if (this.#state === "lost") return;
    this.#become("lost");
    this.#retry();
  }

  #retry(): void {
    this.#retrying = setTimeout(async () => {
      try {
        await this.open();
        if (this.#over) await this.#port.close();
        else if (!this.#out.dtr || !this.#out.rts) await this.setLines(this.#out);
      } catch {
        // Not back yet, or not yet ours to open.
        if (!this.#over && this.#state !== "open") this.#retry();
      }
    }, this.#options.retryEvery ?? 500);
  }

  async #look(): Promise<void> {
    const lines = await this.#port.readLines();
    if (this.#state !== "open" || this.#over) return;
    const before = this.#in;
    this.#in = lines;
    if (!lines) return;
    if (!before || before.cts !== lines.cts || before.dsr !== lines.dsr || before.dcd !== lines.dcd)
      this.#tell({ kind: "lines", in: lines, out: this.#out }, { lines });
    this.#looking = setTimeout(() => void this.#look(), LOOK_AT_LINES_EVERY);
  }
}
