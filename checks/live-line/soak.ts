import { spawn } from "node:child_process";
import { existsSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { monitorEventLoopDelay } from "node:perf_hooks";
import { readFrame } from "@rouse/core/line";
import { CaptureFile, LineSession, RealPort } from "@rouse/node/devices/line";

/**
 * node scripts/run.mjs checks/live-line/soak.ts [--minutes M]: a stream of 115,200 bit/s (11,520 characters a second) both
 * ways at once over a pair of ptys for M minutes (10 unless told), through sessions that capture, while windows come and
 * go. Every byte is compared as it arrives. Exit code 1 where one is lost or wrong.
 */

const at = process.argv.indexOf("--minutes");
const minutes = at < 0 ? 10 : Number(process.argv[at + 1]);
if (!(minutes > 0)) {
  console.error(`--minutes needs a number above 0, not “${process.argv[at + 1]}”.`);
  process.exit(2);
}
const RATE = 115_200;
const PER_MS = RATE / 10 / 1000;
const sleep = (ms: number) => new Promise<void>((resolve) => setTimeout(resolve, ms));

/** The byte with this number: no short period, so that a lost block shows. */
const byteAt = (number: number, way: number): number => {
  let mixed = Math.imul(number + way * 7919, 0x9e3779b1);
  mixed = Math.imul(mixed ^ (mixed >>> 15), 0x21f0aaad);
  return (mixed ^ (mixed >>> 15)) & 0xff;
};

const folder = mkdtempSync(join(tmpdir(), "rouse-soak-"));
const paths = [join(folder, "one"), join(folder, "other")] as const;
const joined = spawn(
  "socat",
  paths.map((path) => `PTY,link=${path},rawer`),
  { stdio: "ignore" },
);
while (!paths.every((path) => existsSync(path))) await sleep(20);

const now = () => performance.now();
const settings = { rate: RATE, frame: readFrame("8N1"), flow: "none" } as const;
const ends = await Promise.all(
  paths.map(async (path, way) => {
    const head = { started: new Date().toISOString(), port: path, rate: RATE, frame: "8N1" };
    const capture = await CaptureFile.create(join(folder, `capture-${way}.jsonl`), head, now);
    return new LineSession(new RealPort(path), settings, { capture });
  }),
);
const sent = [0, 0];
const got = [0, 0];
const wrong = [0, 0];
for (const [way, session] of ends.entries()) {
  session.listen((bytes) => {
    for (const byte of bytes) if (byte !== byteAt(got[way]!++, 1 - way)) wrong[way]!++;
  });
  await session.open();
}

const delay = monitorEventLoopDelay({ resolution: 5 });
delay.enable();
// Windows that join, look for a moment and go, as a page that is reloaded.
let windows = 0;
const reloading = setInterval(() => {
  for (const session of ends) {
    windows += session.recent.length >= 0 ? 1 : 0;
    const leave = session.subscribe(() => undefined);
    setTimeout(leave, 150);
  }
}, 500);

const began = now();
const duration = minutes * 60_000;
let told = began;
const stream = async (way: number) => {
  const session = ends[way]!;
  for (let elapsed = 0; elapsed < duration; elapsed = now() - began) {
    const due = Math.floor(Math.min(elapsed, duration) * PER_MS);
    if (due > sent[way]!) {
      const from = sent[way]!;
      sent[way] = due;
      await session.write(Uint8Array.from({ length: due - from }, (_, each) => byteAt(from + each, way)));
    }
    await sleep(4);
    if (way === 0 && now() - told > 30_000) {
      told = now();
      console.log(
        `${((told - began) / 60_000).toFixed(1)} min: ${got.join(" and ")} bytes came, ${wrong[0]! + wrong[1]!} wrong`,
      );
    }
  }
};
await Promise.all([stream(0), stream(1)]);
for (let waited = 0; waited < 5000 && (got[0]! < sent[1]! || got[1]! < sent[0]!); waited += 50) await sleep(50);
clearInterval(reloading);
delay.disable();
for (const session of ends) await session.close();
joined.kill();
rmSync(folder, { recursive: true, force: true });

const lost = sent[0]! - got[1]! + (sent[1]! - got[0]!);
const speed = (got[0]! + got[1]!) / 2 / ((now() - began) / 1000);
console.log(
  `${minutes} min: ${sent[0]! + sent[1]!} bytes sent, ${lost} lost, ${wrong[0]! + wrong[1]!} wrong; ${speed.toFixed(0)} characters a second each way; ${windows} windows came and went; the event loop waited at most ${(delay.max / 1e6).toFixed(0)} ms, 99.9 % below ${(delay.percentile(99.9) / 1e6).toFixed(0)} ms`,
);
if (lost !== 0 || wrong[0]! + wrong[1]! !== 0) process.exit(1);
