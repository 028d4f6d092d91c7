import { constants } from "node:fs";
import { type FileHandle, open } from "node:fs/promises";
import { visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import { type CaptureEvent, type CaptureHead, captureHead, captureLine } from "@rouse/core/show";

/** How long what has come may wait to be handed to the system, and until it is on the disk; ms. */
const WRITE_EVERY = 100;
const SYNC_EVERY = 700;

/**
 * A session capture that grows as bytes arrive: in the file after 100 ms, on the disk within a second. A file that is
 * there already is never written over.
 */
export class CaptureFile {
  readonly path: string;
  readonly #handle: FileHandle;
  readonly #now: () => number;
  readonly #began: number;
  #waiting: string[] = [];
  #timer: NodeJS.Timeout | undefined;
  #writing: Promise<void> = Promise.resolve();
  #syncedAt: number;
  #failure: unknown;
  #closed = false;

  private constructor(path: string, handle: FileHandle, now: () => number) {
    this.path = path;
    this.#handle = handle;
    this.#now = now;
    this.#began = now();
    this.#syncedAt = this.#began;
  }

  /** `now`: a steady clock in ms. */
  static async create(path: string, head: CaptureHead, now: () => number): Promise<CaptureFile> {
    let handle: FileHandle;
    try {
      handle = await open(path, constants.O_WRONLY | constants.O_CREAT | constants.O_EXCL | constants.O_APPEND);
    } catch (error) {
      const { code } = error as NodeJS.ErrnoException;
      if (code === "EEXIST")
        throw new InputError("file-exists", `${visible(path)} exists already; a capture is not written over a file.`);
      if (code === "ENOENT" || code === "ENOTDIR")
        throw new InputError("no-folder", `The folder of ${visible(path)} does not exist.`);
      throw new InputError("file-access", `${visible(path)} cannot be made (${code ?? "unknown fault"}).`);
    }
    const file = new CaptureFile(path, handle, now);
    try {
      await handle.writeFile(captureHead(head));
      await handle.sync();
    } catch (error) {
      await handle.close();
      throw error;
    }
    return file;
  }

  /** Adds what happened now. */
  add(event: CaptureEvent): void {
    if (this.#closed) return;
    this.#waiting.push(captureLine({ t: (this.#now() - this.#began) / 1000, ...event }));
    this.#timer ??= setTimeout(() => this.#flush(), WRITE_EVERY);
  }

  /** What went wrong with the disk, if anything: the session goes on without the capture. */
  get failure(): unknown {
    return this.#failure;
  }

  async close(): Promise<void> {
    if (this.#closed) return;
    this.#closed = true;
    clearTimeout(this.#timer);
    this.#flush();
    await this.#writing;
    try {
      if (this.#failure === undefined) await this.#handle.sync();
    } catch (error) {
      this.#failure = error;
    }
    await this.#handle.close();
  }

  #flush(): void {
    this.#timer = undefined;
    const text = this.#waiting.join("");
    this.#waiting = [];
    this.#writing = this.#writing.then(async () => {
      if (this.#failure !== undefined) return;
      try {
        if (text !== "") await this.#handle.appendFile(text);
        if (this.#now() - this.#syncedAt >= SYNC_EVERY - WRITE_EVERY) {
          this.#syncedAt = this.#now();
          await this.#handle.datasync();
        } else if (text !== "" && !this.#closed)
          this.#timer ??= setTimeout(() => this.#flush(), SYNC_EVERY - WRITE_EVERY);
      } catch (error) {
        this.#failure = error;
      }
    });
  }
}
