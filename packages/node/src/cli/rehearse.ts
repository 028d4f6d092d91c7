import { setTimeout as wait } from "node:timers/promises";
import { InputError } from "@rouse/core/errors";
import { formatValue, parseAddress } from "@rouse/core/quantity";
import type { Ending, Rehearsal } from "@rouse/core/rehearse";
import { simulated } from "@rouse/core/rehearse/simulated";
import { benchOfJob, checkJob } from "../job/index.ts";
import { jobRehearsal } from "../job/rehearsal.ts";
import { type Job, openJob } from "../store/index.ts";
import { COMMANDS, Desk } from "./rehearse-desk.ts";
import { registerLines } from "./rehearse-text.ts";
import { stdout } from "./stdout.ts";
import { wrap } from "./text.ts";
import type { Output, Verb } from "./verb.ts";

const LONGEST = 60;
const HELP_WIDTH = 118;
/** At true speed: seconds of the machine between two looks at the clock. */
const STRETCH = 0.05;

const clock = (): number => Number(process.hrtime.bigint() / 1000n) / 1000;

const listed = (value: unknown): string[] => (Array.isArray(value) ? (value as string[]) : []);

interface Step {
  waited: string;
  came: boolean;
  seconds: number;
}

/** Waits for the first text, types the first line, and so on; then, without a text to wait for, runs the time out. */
async function script(
  machine: Rehearsal,
  {
    untils,
    lines,
    limit,
    trueSpeed,
    terminal,
  }: { untils: string[]; lines: string[]; limit: number; trueSpeed: boolean; terminal: string | undefined },
): Promise<{ ending: Ending; steps: Step[] }> {
  const begun = clock();
  const steps: Step[] = [];
  let from = 0;
  /** Runs on until a text has come, where one is given. */
  const go = async (text: string | undefined): Promise<Ending> => {
    for (;;) {
      const left = limit - machine.seconds;
      if (left <= 0) return "time";
      const stretch = trueSpeed ? Math.min(STRETCH, left) : left;
      const ending =
        text === undefined ? machine.run({ seconds: stretch }) : machine.runUntilShown(text, stretch, from, terminal);
      if (ending !== "time") return ending;
      if (trueSpeed) await wait(Math.max(0, machine.seconds * 1000 - (clock() - begun)));
      // What began before the stretch ended is looked for again.
      if (text !== undefined) from = Math.max(from, machine.screen(terminal).received - text.length + 1);
    }
  };
  for (let index = 0; index < Math.max(untils.length, lines.length); index++) {
    const text = untils[index];
    if (text !== undefined) {
      const ending = await go(text);
      steps.push({ waited: text, came: ending === "until", seconds: machine.seconds });
      if (ending !== "until") return { ending, steps };
      from = machine.screen(terminal).received;
    }
    const line = lines[index];
    if (line !== undefined) machine.type(`${line}\r`, terminal);
  }
  return untils.length > 0 && untils.length >= lines.length
    ? { ending: "until", steps }
    : { ending: await go(undefined), steps };
}

const ENDINGS: Readonly<Record<Ending, string>> = {
  until: "What was waited for has come",
  time: "The time is over",
  breakpoint: "Stopped before a breakpoint",
  stopped: "The CPU met an opcode without a meaning",
};

function print(
  out: Output,
  machine: Rehearsal,
  {
    ending,
    steps,
    speed,
    terminal,
  }: { ending: Ending; steps: readonly Step[]; speed: number; terminal: string | undefined },
): void {
  const { name, lines, columns, title, faults, received } = machine.screen(terminal);
  const state = machine.state();
  out.line(`${name}: ${title}`);
  out.line(`┌${"─".repeat(columns)}┐`);
  for (const line of lines) out.line(`│${line.padEnd(columns)}│`);
  out.line(`└${"─".repeat(columns)}┘`);
  for (const { waited, came, seconds } of steps)
    out.line(`${came ? "●" : "■"} “${waited}” ${came ? `came at ${formatValue(seconds, "time", 4)}` : "did not come"}`);
  out.line(
    `${ENDINGS[ending]}, at ${formatValue(state.seconds, "time", 4)} since power-on; ${speed.toFixed(0)} × true speed.`,
  );
  out.line(`${received} characters reached the terminal${faults > 0 ? `, ${faults} of them with errors` : ""}.`);
  for (const each of state.drives)
    out.line(
      `${each.name}: ${each.reads} blocks read, ${each.writes} written; head on track ${each.track}, side ${each.side}`,
    );
  for (const line of registerLines(state)) out.line(line);
  if (machine.assumed.length > 0) out.line("Taken for granted:");
  for (const each of machine.assumed) for (const line of wrap(each, out.width, "  ")) out.line(line);
}

/** What the chain says stops this bench: where a text never came, it is the first place to look. */
async function printStops(out: Output, job: Job): Promise<void> {
  const stops = (await checkJob(job)).chain?.findings.filter(({ verdict }) => verdict === "stops") ?? [];
  if (stops.length > 0) out.line("What stops this bench, by `rouse check`:");
  for (const { id, sentence } of stops)
    for (const line of wrap(`■ ${id}: ${sentence}`, out.width, "  ")) out.line(line);
}

/** The machine's terminal in the person's, until they leave. */
async function atTheDesk(machine: Rehearsal, trueSpeed: boolean, terminal: string | undefined): Promise<void> {
  const show = (text: string) => stdout().write(text);
  const desk = new Desk(machine, { show, clock, trueSpeed, ...(terminal === undefined ? {} : { terminal }) });
  let left = false;
  const leave = () => {
    left = true;
  };
  process.on("SIGTERM", leave);
  process.on("SIGHUP", leave);
  process.stdin.setRawMode(true);
  process.stdin.on("data", (bytes: Uint8Array) => desk.typed(bytes));
  try {
    while (!desk.over && !left) await wait(desk.turn());
  } finally {
    process.stdin.setRawMode(false);
    process.stdin.pause();
    process.off("SIGTERM", leave);
    process.off("SIGHUP", leave);
    stdout().write("\u001b[999;1H\n");
  }
}

export const verb: Verb = {
  usage: "[JOB]",
  help: [
    "Runs the bench as a machine, with the ROMs and the image of the job: what would stand on its terminal, and when.",
    "",
    ...wrap(`${simulated("`rouse time`")} docs/rehearsal.md says more.`, HELP_WIDTH),
    "",
    "In a terminal, keys go to the machine; Ctrl-_ is the command key:",
    ...COMMANDS.map(([key, what]) => `    Ctrl-_ ${key}  ${what}`),
    "With --until, --type, --break or --json it runs by itself and prints what stands on the screen at the end.",
    "Exit code 1 where a text of --until did not come.",
  ],
  options: {
    until: {
      type: "string",
      value: "TEXT",
      multiple: true,
      about: "run until the terminal has received this; may come again",
    },
    type: {
      type: "string",
      value: "LINE",
      multiple: true,
      about: "then type this and Enter: the first line after the first text, and so on",
    },
    seconds: { type: "string", value: "NUMBER", about: `seconds of the machine at most; ${LONGEST} unless said` },
    speed: { type: "string", value: "1|max", about: "true speed, or as fast as it goes; 1 at the keyboard, else max" },
    break: { type: "string", value: "ADDRESS", multiple: true, about: "stop before the instruction there: $E000" },
    terminal: {
      type: "string",
      value: "NAME",
      about: "the terminal that is shown and typed at; else that of the show",
    },
    json: { type: "boolean", about: "print everything for machines (docs/rehearsal.md)" },
  },
  examples: [
    ['rouse rehearse demo/mended --until "login:"', "does it come to a login, and when"],
    ['rouse rehearse demo/mended --until "login:" --type visitor --until "tern:"', "log in"],
    ["rouse rehearse demo/mended", "sit at its terminal"],
    ['rouse rehearse demo/mended --terminal "visitors\' terminal"', "sit at the other one"],
  ],
  async run({ positionals, values }, out) {
    if (positionals.length > 1)
      throw new InputError("one-job", `One job at a time; “${positionals[1]}” is one too many.`);
    const { speed } = values;
    const terminal = values.terminal === undefined ? undefined : String(values.terminal);
    if (speed !== undefined && speed !== "1" && speed !== "max")
      throw new InputError("bad-speed", `“${speed}” is no speed; 1 is true speed, max as fast as it goes.`);
    const limit = values.seconds === undefined ? LONGEST : Number(values.seconds);
    if (!(limit > 0 && Number.isFinite(limit)))
      throw new InputError("bad-seconds", `“${values.seconds}” is no number of seconds.`);
    const job = await openJob(positionals[0] ?? ".");
    const found = await benchOfJob(job, positionals[0] ?? ".");
    if ("problem" in found) {
      process.stderr.write(`${found.problem}\n`);
      return 2;
    }
    const machine = await jobRehearsal(job, found.bench);
    // A name that is none is told before anything runs.
    machine.screen(terminal);
    for (const each of listed(values.break)) machine.breakpoints.add(parseAddress(each));
    const [untils, lines] = [listed(values.until), listed(values.type)];
    if (untils.includes("")) throw new InputError("no-text", "--until needs a text to wait for.");
    const alone = untils.length > 0 || lines.length > 0 || values.break !== undefined || values.json === true;
    if (!alone && process.stdin.isTTY && stdout().isTTY) {
      await atTheDesk(machine, speed !== "max", terminal);
      return 0;
    }
    const begun = clock();
    const { ending, steps } = await script(machine, { untils, lines, limit, trueSpeed: speed === "1", terminal });
    const rate = (machine.seconds * 1000) / Math.max(1, clock() - begun);
    if (values.json)
      out.line(
        JSON.stringify(
          {
            format: "rouse-rehearsal",
            version: 1,
            ending,
            steps,
            speed: rate,
            state: machine.state(),
            terminal: machine.screen(terminal),
            received: machine.received(terminal),
            assumed: machine.assumed,
          },
          null,
          2,
        ),
      );
    else {
      print(out, machine, { ending, steps, speed: rate, terminal });
      if (steps.some(({ came }) => !came)) await printStops(out, job);
    }
    return steps.some(({ came }) => !came) ? 1 : 0;
  },
};
