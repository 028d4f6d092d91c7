import { type ChildProcess, spawn } from "node:child_process";
import { constants, existsSync, mkdtempSync, rmSync } from "node:fs";
import { type FileHandle, open } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";

const sleep = (ms: number) => new Promise<void>((resolve) => setTimeout(resolve, ms));

/** A pty that stands for a port: what is written to it comes to `onData`, what is sent here can be read from it. */
export interface Pty {
  path: string;
  send(bytes: Uint8Array): void;
  /** Ends it, as an adapter that is pulled. */
  end(): Promise<void>;
}

/** Folder for the ptys of a test, gone with `clear`. */
export class Ptys {
  readonly folder: string = mkdtempSync(join(tmpdir(), "rouse-pty-"));
  readonly #running: { child: ChildProcess; holders: FileHandle[] }[] = [];

  /** A pty whose far side is this process. */
  async open(name: string, onData: (bytes: Uint8Array) => void): Promise<Pty> {
    const path = join(this.folder, name);
    const child = await this.#start([`PTY,link=${path},rawer`, "STDIO"], [path]);
    child.stdout?.on("data", onData);
    return {
      path,
      send: (bytes) => child.stdin?.write(bytes),
      end: () => this.#end(child),
    };
  }

  /** A pty whose far side is another program. */
  async program(name: string, command: string): Promise<Pty> {
    const path = join(this.folder, name);
    const child = await this.#start([`PTY,link=${path},rawer`, `EXEC:${command}`], [path]);
    return { path, send: () => undefined, end: () => this.#end(child) };
  }

  /** Two ptys joined to each other. */
  async pair(): Promise<[string, string]> {
    const paths: [string, string] = [join(this.folder, "one"), join(this.folder, "other")];
    await this.#start(
      paths.map((path) => `PTY,link=${path},rawer`),
      paths,
    );
    return paths;
  }

  async clear(): Promise<void> {
    await Promise.all(this.#running.map(({ child }) => this.#end(child)));
    rmSync(this.folder, { recursive: true, force: true });
  }

  async #start(addresses: readonly string[], paths: readonly string[]): Promise<ChildProcess> {
    const child = spawn("socat", ["-b", "4096", ...addresses], { stdio: ["pipe", "pipe", "ignore"] });
    child.stdin?.on("error", () => undefined);
    for (let waited = 0; !paths.every((path) => existsSync(path)); waited += 10) {
      if (waited > 5000) throw new Error("socat made no pty");
      await sleep(10);
    }
    // A pty ends when the last program closes it, which a port does not: it is held open here.
    const holders = await Promise.all(paths.map((path) => open(path, constants.O_RDWR | constants.O_NOCTTY)));
    this.#running.push({ child, holders });
    return child;
  }

  async #end(child: ChildProcess): Promise<void> {
    const at = this.#running.findIndex((each) => each.child === child);
    const [entry] = at < 0 ? [] : this.#running.splice(at, 1);
    const gone = new Promise<void>((resolve) => {
      if (child.exitCode !== null || child.signalCode !== null) resolve();
      else child.once("exit", () => resolve());
    });
    child.kill("SIGTERM");
    await gone;
    for (const each of entry?.holders ?? []) await each.close().catch(() => undefined);
  }
}
