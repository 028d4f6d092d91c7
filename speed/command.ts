import { spawnSync } from "node:child_process";
import { existsSync } from "node:fs";
import { atMost, type Measured } from "./types.ts";

const RUNS = 15;
const ROUSE = "packages/node/bin/rouse.js";
const IMAGE = "demo/mended/images/tern.img";

interface Run {
  ms: number;
  /** Largest resident memory, KiB. */
  memory: number;
}

/** Whole process: wall time, and memory as the kernel counts it (`/usr/bin/time` is not everywhere). */
function runOnce(args: readonly string[]): Run {
  const start = process.hrtime.bigint();
  // The child prints its own peak at the end: the kernel's figure in KiB on Linux.
  const child = spawnSync(process.execPath, ["--require", "./.build/peak.cjs", ...args], {
    encoding: "utf8",
    maxBuffer: 1 << 26,
  });
  const ms = Number(process.hrtime.bigint() - start) / 1e6;
  const memory = Number(/peak (\d+)/.exec(child.stderr)?.[1] ?? Number.NaN);
  return { ms, memory };
}

const median = (values: number[]): number => values.sort((a, b) => a - b)[values.length >> 1]!;

/** Interleaved, so that a slow moment of the machine hits all alike. */
function compare(commands: Record<string, readonly string[]>): Record<string, Run> {
  const times: Record<string, Run[]> = {};
  for (let run = 0; run < RUNS; run++)
    for (const [name, args] of Object.entries(commands)) {
      times[name] ??= [];
      times[name].push(runOnce(args));
    }
  return Object.fromEntries(
    Object.entries(times).map(([name, runs]) => [
      name,
      { ms: median(runs.map((each) => each.ms)), memory: median(runs.map((each) => each.memory)) },
    ]),
  );
}

export async function run(): Promise<readonly Measured[]> {
  if (!existsSync(IMAGE)) throw new Error("The demo's images are not made yet: run `npm run demo` first.");
  const { mkdirSync, writeFileSync } = await import("node:fs");
  mkdirSync(".build", { recursive: true });
  writeFileSync(
    ".build/peak.cjs",
    'process.on("exit", () => process.stderr.write("peak " + process.resourceUsage().maxRSS + "\\n"));',
  );
  const found = compare({
    bare: ["-e", "0"],
    look: [ROUSE, "look", IMAGE],
    check: [ROUSE, "check", "demo/mended"],
  });
  const { bare, look, check } = found as Record<"bare" | "look" | "check", Run>;
  console.log(
    `whole process: node -e 0 ${bare.ms.toFixed(0)} ms, look ${look.ms.toFixed(0)} ms, check ${check.ms.toFixed(0)} ms; memory ${bare.memory}, ${look.memory}, ${check.memory} KiB`,
  );
  return [
    atMost("rouse look on the demo over node -e 0, time", look.ms / bare.ms, 1.6),
    atMost("rouse check on the demo over node -e 0, time", check.ms / bare.ms, 2.5),
    atMost("rouse look on the demo over node -e 0, memory", look.memory / bare.memory, 1.6),
  ];
}
