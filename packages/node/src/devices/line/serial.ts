import { execFile } from "node:child_process";
import type { SerialPort } from "serialport";
import type { LineEvents, LinePort, LineSettings, LinesIn, LinesOut } from "./port.ts";
import { portProblem, rateProblem } from "./problems.ts";

const LOOK_EVERY = 250;

const sleep = (ms: number) => new Promise<void>((resolve) => setTimeout(resolve, ms));

/** A serial port of this host. The library with its compiled part loads when one is first opened. */
export class RealPort implements LinePort {
  readonly path: string;
  #port: SerialPort | undefined;
  #settings: LineSettings | undefined;
  #events: LineEvents | undefined;
  #lines: LinesOut = { dtr: true, rts: true };
  /** Ends calls that are under way when the port goes: the library may never answer them. */
  readonly #waiting = new Set<(error: Error) => void>();

  constructor(path: string) {
    this.path = path;
  }

  async open(settings: LineSettings, events: LineEvents): Promise<void> {
    this.#events = events;
    this.#settings = settings;
    const { SerialPort: Library } = await import("serialport");
    const port = new Library({
      path: this.path,
      baudRate: settings.rate,
      dataBits: settings.frame.data as 5 | 6 | 7 | 8,
      parity: settings.frame.parity,
      stopBits: settings.frame.stop as 1 | 1.5 | 2,
      rtscts: settings.flow === "lines",
      xon: settings.flow === "characters",
      xoff: settings.flow === "characters",
      autoOpen: false,
    });
    await this.#asked((done) => port.open(done));
    port.on("data", (bytes: Uint8Array) => events.data(bytes));
    // Without a listener an error would end the process. The library leaves a port open after a failed write.
    port.on("error", () => this.#gone(port));
    port.on("close", () => this.#gone(port));
    this.#port = port;
    const made = await port.port?.getBaudRate().catch(() => undefined);
    const wrong = made && rateProblem(this.path, settings.rate, made.baudRate);
    if (wrong) {
      await this.close();
      throw wrong;
    }
    if (made) this.#watch(port);
  }

  /**
   * Asks the device for its rate again and again, which fails once it is gone. A port that goes while a read is under way gives
   * reads of no bytes, and the library then reads on for ever.
   */
  #watch(port: SerialPort): void {
    const look = async (): Promise<void> => {
      if (this.#port !== port) return;
      try {
        await port.port?.getBaudRate();
        setTimeout(() => void look(), LOOK_EVERY).unref();
      } catch {
        this.#gone(port);
      }
    };
    setTimeout(() => void look(), LOOK_EVERY).unref();
  }

  markFaults(): Promise<boolean> {
    // The library drops what comes wrong, and has no setting for it. The settings are the device's, so another program
    // may change them while it is open here.
    const file = process.platform === "darwin" ? "-f" : "-F";
    if (process.platform === "win32") return Promise.resolve(false);
    const wanted = [file, this.path, "-ignpar", "parmrk", "inpck", "-istrip", "-ignbrk", "-brkint"];
    return new Promise((resolve) => execFile("stty", wanted, (error) => resolve(error === null)));
  }

  write(bytes: Uint8Array): Promise<void> {
    return this.#with((port, done) => port.write(Buffer.from(bytes), done));
  }
  drain(): Promise<void> {
    return this.#with((port, done) => port.drain(done));
  }
  discard(): Promise<void> {
    return this.#with((port, done) => port.flush(done));
  }

  async change(settings: LineSettings): Promise<void> {
    const events = this.#events;
    if (!events) return;
    const port = this.#port;
    this.#port = undefined;
    if (port?.isOpen) await this.#asked((done) => port.close(done));
    await this.open(settings, events);
    // Opening raises both lines.
    if (!this.#lines.dtr || !this.#lines.rts) await this.setLines(this.#lines);
  }

  async sendBreak(ms: number): Promise<void> {
    await this.drain();
    await this.#with((port, done) => port.set({ ...this.#lines, brk: true }, done));
    await sleep(ms);
    await this.#with((port, done) => port.set({ ...this.#lines, brk: false }, done));
  }

  async setLines(lines: LinesOut): Promise<void> {
    await this.#with((port, done) => port.set({ ...lines, brk: false }, done));
    this.#lines = lines;
  }

  readLines(): Promise<LinesIn | undefined> {
    return new Promise((resolve) => {
      const port = this.#port;
      if (!port?.isOpen) {
        resolve(undefined);
        return;
      }
      port.get((error, lines) =>
        resolve(error || !lines ? undefined : { cts: lines.cts, dsr: lines.dsr, dcd: lines.dcd }),
      );
    });
  }

  async close(): Promise<void> {
    const port = this.#port;
    this.#port = undefined;
    this.#cut();
    if (!port?.isOpen) return;
    await new Promise<void>((resolve) => port.close(() => resolve()));
    this.#events?.closed(false);
  }

  /** The port went without our word. */
  #gone(port: SerialPort): void {
    if (this.#port !== port) return;
    this.#port = undefined;
    port.port?.close().catch(() => undefined);
    this.#cut();
    this.#events?.closed(true);
  }

  #cut(): void {
    for (const reject of this.#waiting) reject(new Error("The port is closed"));
    this.#waiting.clear();
  }

  #with(action: (port: SerialPort, done: (error?: Error | null) => void) => void): Promise<void> {
    const port = this.#port;
    return this.#asked((done) => (port ? action(port, done) : done(new Error("The port is closed"))));
  }

  /** A call of the library as a promise, its error made a sentence. */
  async #asked(action: (done: (error?: Error | null) => void) => void): Promise<void> {
    let cut: ((error: Error) => void) | undefined;
    try {
      await new Promise<void>((resolve, reject) => {
        cut = reject;
        this.#waiting.add(reject);
        action((error) => (error ? reject(error) : resolve()));
      });
    } catch (error) {
      throw await portProblem(error, this.path, this.#settings?.rate ?? 0);
    } finally {
      if (cut) this.#waiting.delete(cut);
    }
  }
}
