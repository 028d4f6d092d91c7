import { spawn } from "node:child_process";
import { visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";

/** An external program that writes a disk through an adapter of the person's: a command with its arguments, no shell. */
export interface AdapterCommand {
  command: readonly [program: string, ...args: string[]];
  /** Pattern whose first group is a percentage, or whose two groups are done and all. */
  progress?: string;
  /** Seconds after which it is ended. */
  limit: number;
}

export interface AdapterRun {
  exitCode: number | null;
  /** What it printed, both streams in order; its end, where that is long. */
  output: string;
  seconds: number;
}

/** Characters. */
const OUTPUT_LIMIT = 1 << 20;
/** Time between the friendly and the final end of a program that hangs, ms. */
const GRACE = 2000;

/** Puts values in the place of `{name}` in each argument. An unknown name is the bench's error. */
export function fillPlaceholders(command: readonly string[], values: Readonly<Record<string, string>>): string[] {
  return command.map((part) =>
    part.replaceAll(/\{(\w+)\}/g, (_, name: string) => {
      const value = values[name];
      if (value === undefined)
        throw new InputError(
          "no-placeholder",
          `The writer's command has {${name}}, which is not known here; there is ${Object.keys(values)
            .map((each) => `{${each}}`)
            .join(", ")}.`,
        );
      return value;
    }),
  );
}

const share = (pattern: RegExp, text: string): number | undefined => {
  let last: RegExpMatchArray | undefined;
  for (const match of text.matchAll(pattern)) last = match;
  if (!last) return undefined;
  const [, one, all] = last;
  const value = all === undefined ? Number(one) / 100 : Number(one) / Number(all);
  return Number.isFinite(value) ? Math.min(1, Math.max(0, value)) : undefined;
};

/**
 * Runs an adapter's program with its arguments filled in. It is ended after its time limit or when `signal` says so; its
 * output is kept. Throws an `InputError` where it cannot be started, fails or hangs.
 */
export async function runAdapter(
  { command, progress, limit }: AdapterCommand,
  values: Readonly<Record<string, string>>,
  { onShare, signal }: { onShare?: (share: number) => void; signal?: AbortSignal } = {},
): Promise<AdapterRun> {
  const [program, ...args] = fillPlaceholders(command, values);
  let pattern: RegExp | undefined;
  try {
    pattern = progress === undefined ? undefined : new RegExp(progress, "g");
  } catch {
    throw new InputError("bad-pattern", `The writer's progress pattern “${progress}” is not a regular expression.`);
  }
  const started = process.hrtime.bigint();
  return new Promise((resolve, reject) => {
    const child = spawn(program!, args, { shell: false, stdio: ["ignore", "pipe", "pipe"], detached: true });
    let output = "";
    let ended: "late" | "stopped" | undefined;
    // The whole group: a script's own children must not go on writing.
    const kill = (signalName: NodeJS.Signals) => {
      try {
        if (child.pid !== undefined) process.kill(-child.pid, signalName);
      } catch {
        // It is gone already.
      }
    };
    const end = (why: "late" | "stopped") => {
      ended ??= why;
      kill("SIGTERM");
      setTimeout(() => kill("SIGKILL"), GRACE).unref();
    };
    const timer = setTimeout(() => end("late"), limit * 1000);
    const onAbort = () => end("stopped");
    signal?.addEventListener("abort", onAbort, { once: true });
    const take = (text: string) => {
      output += text;
      if (output.length > 2 * OUTPUT_LIMIT) output = output.slice(-OUTPUT_LIMIT);
      const done = pattern && share(pattern, output.slice(-4096));
      if (done !== undefined) onShare?.(done);
    };
    child.stdout.setEncoding("utf8");
    child.stderr.setEncoding("utf8");
    child.stdout.on("data", take);
    child.stderr.on("data", take);
    const finish = () => {
      clearTimeout(timer);
      signal?.removeEventListener("abort", onAbort);
    };
    child.on("error", (error: NodeJS.ErrnoException) => {
      finish();
      reject(
        new InputError(
          "no-adapter",
          error.code === "ENOENT"
            ? `The writer's program “${program}” is not there.`
            : `The writer's program “${program}” cannot be started: ${error.code}.`,
        ),
      );
    });
    child.on("close", (exitCode) => {
      finish();
      const run = { exitCode, output, seconds: Number(process.hrtime.bigint() - started) / 1e9 };
      if (ended === "late")
        reject(
          new InputError(
            "adapter-hangs",
            `The writer's program did not end within ${limit} s and was stopped; what it wrote is not to be trusted.`,
          ),
        );
      else if (ended === "stopped")
        reject(new InputError("interrupted", "Stopped; what the writer's program wrote is not to be trusted."));
      else if (exitCode !== 0)
        reject(
          new InputError(
            "adapter-failed",
            `The writer's program ended with ${exitCode}: ${visible(output.trim().split("\n").at(-1) || "it said nothing")}`,
          ),
        );
      else resolve(run);
    });
  });
}
