import { spawn } from "node:child_process";
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import {
  type Protocol,
  Receiver,
  Sender,
  type Step,
  type TransferEvent,
  type TransferFile,
  type TransferMachine,
} from "@rouse/core/transfer";

/**
 * One end is ours, the other is a program of Debian's package lrzsz, over pipes; bytes are dropped, doubled and changed
 * and the line is stalled between them. To a receiver of plain XMODEM only harm is done that its sum of eight bits can show.
 */

/** Our clock runs this much faster than the wall's, so that waits of ten seconds take one. */
const FASTER = 10;
/** One in so many single answers is harmed, where bytes are harmed at all. */
const ANSWERS = 100;

type Random = () => number;
function randomFrom(seed: number): Random {
  let state = (Math.imul(seed + 1, 2_654_435_761) ^ 0x5bd1e995) >>> 0 || 1;
  return () => {
    // xorshift32 (Marsaglia 2003)
    state ^= state << 13;
    state >>>= 0;
    state ^= state >>> 17;
    state ^= state << 5;
    state >>>= 0;
    return state;
  };
}

/** Drops, doubles or changes about one byte in `one`. */
function harmed(bytes: Uint8Array, random: Random, one: number): Uint8Array {
  const out: number[] = [];
  for (const byte of bytes) {
    if (random() % one !== 0) out.push(byte);
    else {
      const kind = random() % 3;
      if (kind === 1) out.push(byte, byte);
      if (kind === 2) out.push(byte ^ (1 << (random() % 8)));
    }
  }
  return Uint8Array.from(out);
}

/** A wire that harms about one byte in `one`, 0 none, but leaves alone what it is told that the protocol can't see. */
function wire(random: Random, one: number, unseeable: (sent: Uint8Array, got: Uint8Array) => boolean) {
  return (bytes: Uint8Array): Uint8Array => {
    if (one === 0) return bytes;
    const got = harmed(bytes, random, one);
    return unseeable(bytes, got) ? bytes : got;
  };
}

const BLOCK = 128;
/** SOH, number, its complement, the data, their sum. */
const SUMMED_BLOCK = BLOCK + 4;
const DATA = 3;
const sumOf = (bytes: Uint8Array): number => bytes.reduce((sum, byte) => (sum + byte) & 0xff, 0);

/** Whether a harmed block has its eight-bit sum right by chance, as one in 256 has: then no receiver of plain XMODEM can tell. */
function passesItsSum(sent: Uint8Array, got: Uint8Array): boolean {
  if (sent.length !== SUMMED_BLOCK || got.length < SUMMED_BLOCK) return false;
  const [there, here] = [sent, got].map((each) => each.subarray(0, SUMMED_BLOCK)) as [Uint8Array, Uint8Array];
  return (
    there.some((byte, at) => byte !== here[at]) &&
    there.subarray(0, DATA).every((byte, at) => byte === here[at]) &&
    sumOf(here.subarray(DATA, -1)) === here[SUMMED_BLOCK - 1]
  );
}

interface Run {
  events: TransferEvent[];
  /** Blocks that were let through whole since their harm would have passed the sum. */
  spared: number;
  /** How the other program ended. */
  status: number | null;
}

function run(
  machine: TransferMachine,
  tool: string,
  args: string[],
  cwd: string,
  seed: number,
  one: number,
  summed: boolean,
): Promise<Run> {
  const random = randomFrom(seed);
  // Data bytes go one way and single answers the other: each way has faults in its own measure.
  const sends = machine instanceof Sender;
  let spared = 0;
  const unseeable = (sent: Uint8Array, got: Uint8Array): boolean => {
    const unseen = summed && passesItsSum(sent, got);
    if (unseen) spared++;
    return unseen;
  };
  const there = wire(random, sends ? one : one && ANSWERS, unseeable);
  const back = wire(random, sends ? one && ANSWERS : one, unseeable);
  return new Promise((resolve, reject) => {
    const child = spawn(tool, args, { cwd, stdio: ["pipe", "pipe", "ignore"] });
    const start = process.hrtime.bigint();
    const now = (): number => (Number(process.hrtime.bigint() - start) / 1e6) * FASTER;
    const events: TransferEvent[] = [];
    let timer: NodeJS.Timeout | undefined;
    let stalled = 0;
    const done = (step: Step): void => {
      events.push(...step.events);
      if (step.send.length > 0 && !child.stdin.destroyed) child.stdin.write(there(step.send));
      clearTimeout(timer);
      if (step.wake !== undefined)
        timer = setTimeout(() => done(machine.tick(now())), Math.max(0, (step.wake - now()) / FASTER));
    };
    child.on("error", (error) =>
      reject(
        "code" in error && error.code === "ENOENT"
          ? new Error(`This check needs \`${tool}\`: install the Debian package lrzsz.`)
          : error,
      ),
    );
    child.stdin.on("error", () => {});
    child.stdout.on("data", (bytes: Buffer) => {
      const take = () => done(machine.receive(back(bytes), now()));
      // A stall of the line: 30 seconds on our clock, once in a while. What comes later waits behind it.
      if (one > 0 && stalled === 0 && random() % 60 === 0) {
        stalled = 1;
        child.stdout.pause();
        setTimeout(() => {
          child.stdout.resume();
          take();
        }, 30_000 / FASTER);
      } else take();
    });
    child.on("close", (status) => {
      // Our end goes on until it has an end of its own.
      const wait = setInterval(() => {
        if (!machine.ended && !events.some(({ kind }) => kind === "done")) return;
        clearInterval(wait);
        clearTimeout(timer);
        resolve({ events, status, spared });
      }, 20);
    });
    // Whatever happens, an end: the other program may wait a minute for what was lost.
    setTimeout(() => {
      child.kill();
      done(machine.cancel(now()));
    }, 45_000).unref();
    done(machine.start(now()));
  });
}

interface Outcome {
  seed: number;
  protocol: Protocol;
  way: "ours to theirs" | "theirs to ours";
  /**
   * "whole": all bytes equal. "told": it failed and said so. "wrong": neither, which must never be.
   */
  result: "whole" | "told" | "wrong";
  /** Attempts, each told as failed but the last: a foreign sender that takes a doubled byte for two answers is lost. */
  attempts: number;
  retries: number;
  /** Harmed blocks of the last attempt that plain XMODEM's sum would have passed, and that were sent whole instead. */
  spared: number;
  /** Wall time of the last attempt. */
  seconds: number;
  detail: string;
}

const PROTOCOLS: readonly Protocol[] = ["xmodem", "xmodem-crc", "xmodem-1k", "ymodem"];

function filesOf(seed: number, protocol: Protocol): TransferFile[] {
  const random = randomFrom(seed * 31 + 7);
  const count = protocol === "ymodem" ? 1 + (random() % 3) : 1;
  return Array.from({ length: count }, (_, index) => ({
    name: `file${index}.bin`,
    bytes: Uint8Array.from(
      { length: [0, 1, 127, 128, 129, 1024, 1025, 3000, 5000, 9000][random() % 10]! },
      () => random() & 0xff,
    ),
    modified: 499_000_000 + index,
  }));
}

/** Equal, apart from filling with SUB up to whole blocks where the protocol tells no length. */
function same(sent: TransferFile, got: Uint8Array | undefined, exact: boolean): boolean {
  if (!got || got.length < sent.bytes.length || (exact && got.length !== sent.bytes.length)) return false;
  return (
    got.every((byte, i) => byte === (i < sent.bytes.length ? sent.bytes[i] : 0x1a)) &&
    got.length - sent.bytes.length < 1024
  );
}

/** As a person would, tries again what failed and said so. */
async function transfer(seed: number, way: Outcome["way"], one: number): Promise<Outcome> {
  let outcome = await attempt(seed, seed, way, one);
  for (let attempts = 2; outcome.result === "told" && attempts <= 5; attempts++)
    outcome = { ...(await attempt(seed, seed + attempts * 99_991, way, one)), attempts };
  return outcome;
}

async function attempt(seed: number, faults: number, way: Outcome["way"], one: number): Promise<Outcome> {
  const protocol = PROTOCOLS[seed % 4]!;
  const batch = protocol === "ymodem";
  const begun = Date.now();
  const files = filesOf(seed, protocol);
  const folder = mkdtempSync(join(tmpdir(), "rouse-transfer-"));
  try {
    let got: (Uint8Array | undefined)[];
    let ended: Run;
    let told: boolean;
    if (way === "ours to theirs") {
      const into = join(folder, "in");
      mkdirSync(into);
      const args = batch
        ? ["-q", "-t", "10"]
        : ["-q", "-t", "10", ...(protocol === "xmodem" ? [] : ["-c"]), "file0.bin"];
      ended = await run(
        new Sender(protocol, files, { timeout: 15_000, retries: 20 }),
        batch ? "rb" : "rx",
        args,
        into,
        faults,
        one,
        protocol === "xmodem",
      );
      const there = new Set(readdirSync(into));
      got = files.map(({ name }) => (there.has(name) ? new Uint8Array(readFileSync(join(into, name))) : undefined));
      told = ended.status !== 0 || ended.events.some(({ kind }) => kind === "failed");
    } else {
      for (const { name, bytes } of files) writeFileSync(join(folder, name), bytes);
      const args = ["-q", "-t", "10", ...(protocol === "xmodem-1k" ? ["-k"] : []), ...files.map(({ name }) => name)];
      const receiver = new Receiver(protocol, { timeout: 15_000, retries: 20, linger: 60_000 });
      ended = await run(receiver, batch ? "sb" : "sx", args, folder, faults, one, false);
      const ends = ended.events.flatMap((each) => (each.kind === "file ends" ? [each.file] : []));
      got = files.map(({ name }, index) => (batch ? ends.find((each) => each.name === name) : ends[index])?.bytes);
      told = ended.events.some(({ kind }) => kind === "failed") || !ended.events.some(({ kind }) => kind === "done");
    }
    const whole = files.every((file, index) => same(file, got[index], batch));
    const failed = ended.events.find((each) => each.kind === "failed");
    return {
      seed,
      protocol,
      way,
      attempts: 1,
      result: whole ? "whole" : told ? "told" : "wrong",
      spared: ended.spared,
      retries: ended.events.filter(({ kind }) => kind === "retry").length,
      seconds: (Date.now() - begun) / 1000,
      detail: `status ${ended.status}, ${failed?.kind === "failed" ? failed.why : "no failure here"}, lengths ${files.map(({ bytes }) => bytes.length)} → ${got.map((each) => each?.length)}`,
    };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** Transfers both ways, several at a time: they mostly wait. */
export async function transfers(
  count: number,
  one: number,
  atOnce: number,
  each?: (outcome: Outcome) => void,
): Promise<Outcome[]> {
  const outcomes: Outcome[] = [];
  const queue = Array.from({ length: count }, (_, seed) => seed).flatMap((seed) => [
    { seed, way: "ours to theirs" as const },
    { seed, way: "theirs to ours" as const },
  ]);
  const worker = async (): Promise<void> => {
    for (let next = queue.shift(); next; next = queue.shift()) {
      const outcome = await transfer(next.seed, next.way, one);
      outcomes.push(outcome);
      each?.(outcome);
    }
  };
  await Promise.all(Array.from({ length: atOnce }, worker));
  return outcomes;
}
