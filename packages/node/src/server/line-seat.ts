import { randomBytes } from "node:crypto";
import { basename } from "node:path";
import { visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import { readFrame } from "@rouse/core/line";
import { formatValue } from "@rouse/core/quantity";
import { Receiver, Sender, type TransferEvent, type TransferMachine } from "@rouse/core/transfer";
import {
  bestHeard,
  type CaptureFile,
  controlWords,
  hearLine,
  type LinePort,
  LineSession,
  type LineSettings,
  type LinesOut,
  lineVerdict,
  runTransfer,
  type SessionEvent,
  saveBeside,
  testControls,
  testLine,
} from "../devices/line/index.ts";
import type { LineFiles } from "./line-files.ts";
import { LineHistory } from "./line-history.ts";
import type { SeatTold, SettingsTold, TransferTold, WorkTold } from "./line-types.ts";

export interface SeatNeeds {
  makePort(path: string): LinePort;
  files: LineFiles;
  /** A steady clock in ms. */
  clock(): number;
  /** Ms since 1970. */
  now(): number;
  /** Hears a fault of our own. */
  tellFault(error: unknown): void;
  onFrame(frame: Uint8Array<ArrayBuffer>): void;
  /** The state has changed. `soon`: progress that may wait a moment. */
  onState(soon: boolean): void;
}

const toSettings = ({ rate, frame, flow }: SettingsTold): LineSettings => ({ rate, frame: readFrame(frame), flow });
const toldSettings = ({ rate, frame, flow }: LineSettings): SettingsTold => ({ rate, frame: frame.text, flow });

/**
 * One port as the server keeps it, whether or not a page looks: the session with its capture, what has passed, and the
 * one thing at once that takes its time (a paste, a transfer, a search for the rate, a test).
 */
export class LineSeat {
  readonly port: string;
  readonly #run = randomBytes(8).toString("hex");
  readonly #needs: SeatNeeds;
  readonly history: LineHistory = new LineHistory();
  #session: LineSession | undefined;
  #settings: SettingsTold | null = null;
  #captures = true;
  #capture: { name: string; file: CaptureFile } | undefined;
  #received = 0;
  #sent = 0;
  #work: WorkTold | null = null;
  #stopping = new AbortController();
  #running: Promise<void> | undefined;
  /** When it began. */
  #began = 0;
  #problem: string | null = null;
  /** Opening and closing, one after the other. */
  #changing: Promise<void> = Promise.resolve();

  constructor(port: string, needs: SeatNeeds) {
    this.port = port;
    this.#needs = needs;
  }

  told(windows: number): SeatTold {
    const failure = this.#capture?.file.failure;
    return {
      port: this.port,
      run: this.#run,
      state: this.#session?.state ?? "closed",
      settings: this.#settings,
      in: this.#session?.linesIn ?? null,
      out: this.#session?.linesOut ?? { dtr: true, rts: true },
      received: this.#received,
      sent: this.#sent,
      windows,
      capture: this.#capture
        ? {
            name: this.#capture.name,
            problem: failure === undefined ? null : "The disk refused a write; it is not whole.",
          }
        : null,
      work: this.#work,
      problem: this.#problem,
    };
  }

  get run(): string {
    return this.#run;
  }

  /** What an open port is set to: a pace and a wait for answers follow from it. */
  get settings(): SettingsTold {
    this.#open();
    return this.#settings!;
  }

  /** Opens the port, or sets an open one anew. */
  open(settings: SettingsTold, captures: boolean): Promise<void> {
    this.#refuseDuringWork();
    return this.#inTurn(async () => {
      this.#captures = captures;
      if (this.#session) {
        await this.#session.change(toSettings(settings));
        return;
      }
      this.#received = this.#sent = 0;
      await this.#begin(settings);
    });
  }

  close(): Promise<void> {
    this.stop();
    return this.#inTurn(async () => {
      await this.#running;
      await this.#end();
    });
  }

  /** What is typed: characters U+0000 to U+00FF. */
  async type(bytes: Uint8Array): Promise<void> {
    if (this.#isBusyWithFile()) throw new InputError("line-busy", "A file is under way; what is typed would spoil it.");
    await this.#open().write(bytes);
  }
  async sendBreak(ms: number): Promise<void> {
    await this.#open().sendBreak(ms);
  }
  async setLines(lines: Partial<LinesOut>): Promise<void> {
    await this.#open().setLines(lines);
  }

  /** Sends text or files, or receives, until the machine ends. `files`: how many, where that is known. */
  transfer(
    kind: "paste" | "send" | "receive",
    protocol: string,
    machine: TransferMachine,
    files: number | null,
  ): WorkTold {
    const session = this.#open();
    let told: TransferTold = {
      protocol,
      file: "",
      bytes: 0,
      length: null,
      retries: 0,
      lastRetry: null,
      arrived: 0,
      files,
      saved: [],
    };
    let saving: Promise<void> = Promise.resolve();
    const save = (name: string, file: Parameters<typeof saveBeside>[1]): void => {
      saving = saving.then(async () => {
        const path = await saveBeside(await this.#needs.files.receivedFolder(), { ...file, name });
        told = { ...told, saved: [...told.saved, { name: basename(path), size: file.bytes.length }] };
        this.#progress({ transfer: told }, false);
      });
      // Told where it is awaited, at the end.
      saving.catch(() => undefined);
    };
    const onEvent = (event: TransferEvent): void => {
      if (event.kind === "file begins") told = { ...told, file: event.name, bytes: 0, length: event.length ?? null };
      else if (event.kind === "progress") told = { ...told, bytes: event.bytes, length: event.length ?? told.length };
      else if (event.kind === "retry") told = { ...told, retries: told.retries + 1, lastRetry: event.why };
      else if (event.kind === "file ends") {
        told = { ...told, arrived: told.arrived + 1, bytes: event.file.bytes.length, file: event.file.name };
        if (kind === "receive") save(event.file.name, event.file);
      }
      this.#progress({ transfer: told }, event.kind === "progress");
    };
    return this.#begins(kind, { transfer: told }, async (signal) => {
      const failed = await runTransfer(session, machine, { now: this.#needs.clock, onEvent, signal });
      if (machine instanceof Sender) told = { ...told, arrived: machine.confirmed };
      if (failed && machine instanceof Receiver && machine.partial)
        save(`${machine.partial.name}.part`, machine.partial);
      await saving;
      this.#progress({ transfer: told }, false);
      return failed;
    });
  }

  /** Finds out what the other end talks at. The session is closed for it and opened again after it. */
  listen(patience: number): WorkTold {
    let heard: NonNullable<WorkTold["heard"]> = { heard: [], best: null };
    return this.#begins("listen", { heard }, (signal) =>
      this.#alone(async (port) => {
        const found = await hearLine(port, {
          patience,
          signal,
          onHeard: (each) => {
            heard = { ...heard, heard: [...heard.heard, each] };
            this.#progress({ heard }, false);
          },
        });
        heard = { ...heard, best: bestHeard(found) ?? null };
        this.#progress({ heard }, false);
        if (signal.aborted || heard.best) return undefined;
        return found.every((each) => each.bytes === 0)
          ? "Nothing came at any rate: is anything sent, and is its transmit joined to this port's receive?"
          : "What came makes no sense at any of these rates. A capture of a logic analyser tells more.";
      }),
    );
  }

  /** Measures the line by a plug or a far end that echoes. The session is closed for it and opened again after it. */
  test(rates: readonly number[], frame: string, seconds: number, controls: boolean): WorkTold {
    let test: NonNullable<WorkTold["test"]> = { rates, results: [], verdict: null, controls: null, follows: null };
    return this.#begins("test", { test }, (signal) =>
      this.#alone(async (port) => {
        const settings: LineSettings = { rate: rates[0]!, frame: readFrame(frame), flow: "none" };
        const results = await testLine(port, {
          rates,
          frame: settings.frame,
          seconds,
          now: this.#needs.clock,
          signal,
          onResult: (result) => {
            test = { ...test, results: [...test.results, result] };
            this.#progress({ test }, false);
          },
        });
        const found = controls && !signal.aborted ? await testControls(port, settings) : undefined;
        test = {
          ...test,
          verdict: lineVerdict(results, (rate) => formatValue(rate, "rate")),
          controls: found ? controlWords(found) : null,
          follows: found?.follows ?? null,
        };
        this.#progress({ test }, false);
        return undefined;
      }),
    );
  }

  /** Ends what takes its time, if anything does. */
  stop(): void {
    this.#stopping.abort();
  }

  #open(): LineSession {
    if (!this.#session) throw new InputError("port-closed", `${visible(this.port)} is not open.`);
    return this.#session;
  }

  #isBusyWithFile(): boolean {
    return this.#work?.state === "running" && (this.#work.kind === "send" || this.#work.kind === "receive");
  }

  #refuseDuringWork(): void {
    if (this.#work?.state === "running")
      throw new InputError("line-busy", "Something is under way on this port; stop it first.");
  }

  #inTurn(action: () => Promise<void>): Promise<void> {
    const mine = this.#changing.then(action).finally(() => this.#needs.onState(false));
    this.#changing = mine.catch(() => undefined);
    return mine;
  }

  async #begin(settings: SettingsTold): Promise<void> {
    const capture = this.#captures ? await this.#needs.files.capture(this.port, settings) : undefined;
    const session = new LineSession(
      this.#needs.makePort(this.port),
      toSettings(settings),
      capture ? { capture: capture.file } : {},
    );
    // Heard before it is open: the first bytes may come at once.
    session.subscribe((event) => this.#hear(event));
    try {
      await session.open();
    } catch (error) {
      await session.close();
      throw error;
    }
    this.#session = session;
    this.#capture = capture;
    this.#settings = settings;
    this.#problem = null;
  }

  async #end(): Promise<void> {
    const session = this.#session;
    this.#session = undefined;
    await session?.close();
  }

  #hear(event: SessionEvent): void {
    if (event.kind === "in" || event.kind === "out") {
      if (event.kind === "in") this.#received += event.bytes.length;
      else this.#sent += event.bytes.length;
      const kind =
        this.#isBusyWithFile() && this.#work?.transfer?.protocol !== "text"
          ? (`file ${event.kind}` as const)
          : event.kind;
      this.#needs.onFrame(this.history.add(kind, event.bytes, this.#needs.now()));
      this.#needs.onState(true);
      return;
    }
    if (event.kind === "settings") this.#settings = toldSettings(event.settings);
    this.#needs.onState(false);
  }

  /** With the port to itself. */
  async #alone(action: (port: LinePort) => Promise<string | undefined>): Promise<string | undefined> {
    const settings = this.#session && this.#settings;
    await this.#end();
    try {
      return await action(this.#needs.makePort(this.port));
    } finally {
      if (settings)
        await this.#begin(settings).catch((error: unknown) => {
          this.#problem = this.#sentence(error);
        });
    }
  }

  #sentence(error: unknown): string {
    if (error instanceof InputError) return error.message;
    this.#needs.tellFault(error);
    return "Something went wrong inside Rouse; its terminal window tells more.";
  }

  /** Begins something that takes its time. `action` gives why it failed, if it did. */
  #begins(
    kind: WorkTold["kind"],
    about: Pick<WorkTold, "transfer" | "heard" | "test">,
    action: (signal: AbortSignal) => Promise<string | undefined>,
  ): WorkTold {
    this.#refuseDuringWork();
    const stopping = new AbortController();
    this.#stopping = stopping;
    this.#began = this.#needs.clock();
    const work: WorkTold = { id: (this.#work?.id ?? 0) + 1, kind, state: "running", took: 0, problem: null, ...about };
    this.#work = work;
    this.#needs.onState(false);
    const end = (problem: string | undefined): void => {
      // Text that is stopped is done: it has no end of its own.
      const isCut = stopping.signal.aborted && (problem !== undefined || kind === "listen" || kind === "test");
      const state = isCut ? "stopped" : problem === undefined ? "done" : "failed";
      this.#work = {
        ...(this.#work ?? work),
        state,
        problem: problem ?? null,
        took: this.#needs.clock() - this.#began,
      };
      this.#needs.onState(false);
    };
    this.#running = action(stopping.signal).then(end, (error: unknown) => end(this.#sentence(error)));
    return work;
  }

  #progress(change: Partial<WorkTold>, soon: boolean): void {
    if (!this.#work) return;
    this.#work = { ...this.#work, ...change, took: this.#needs.clock() - this.#began };
    this.#needs.onState(soon);
  }
}
