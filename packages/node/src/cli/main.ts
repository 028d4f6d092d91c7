import { parseArgs } from "node:util";
import { InputError } from "@rouse/core/errors";
import { printLine, stdout, stdoutIsScreen } from "./stdout.ts";
import type { Verb } from "./verb.ts";

/** The verbs, each with what it does; its code loads when it is asked for. */
const VERBS: Record<string, { about: string; load: () => Promise<{ verb: Verb }> }> = {
  check: { about: "work out whether the chain reaches the login, and what stops it", load: () => import("./check.ts") },
  look: { about: "say what an image holds, whether it is whole, and show its files", load: () => import("./look.ts") },
  extract: { about: "copy files off an image into a folder", load: () => import("./extract.ts") },
  time: { about: "say how long boot, login, loading, formatting and writing take", load: () => import("./time.ts") },
  rehearse: { about: "run the bench as a machine, with its ROMs and image", load: () => import("./rehearse.ts") },
  track: {
    about: "lay a track out: fields, gaps, what is left at the drive's tolerance",
    load: () => import("./track.ts"),
  },
  recover: { about: "recover sectors from a sampled read line", load: () => import("./recover.ts") },
  write: { about: "write an image onto a real disk, and verify it", load: () => import("./write.ts") },
  make: { about: "make a disk image from a folder, of any of four kinds", load: () => import("./make.ts") },
  mend: { about: "mend an image into a new one, and list what was changed", load: () => import("./mend.ts") },
  compare: { about: "tell two images apart, by blocks and by files", load: () => import("./compare.ts") },
  new: { about: "write a bench file, with questions or after the demo", load: () => import("./new.ts") },
  open: { about: "open the workbench on a job folder in the browser", load: () => import("./open.ts") },
  memory: { about: "show what the CPU sees, and which chip answers an address", load: () => import("./memory.ts") },
  boards: {
    about: "show supply, bus loads, timing, and how an added board is fitted",
    load: () => import("./boards.ts"),
  },
  diag: { about: "write test programs made for this bench", load: () => import("./diag.ts") },
  prove: {
    about: "put faults into the simulated bench, and see what the tests find",
    load: () => import("./prove.ts"),
  },
  suspects: { about: "name the bad part from what a test program printed", load: () => import("./suspects.ts") },
  rates: {
    about: "list the rates a port can make, with dividers and register values",
    load: () => import("./rates.ts"),
  },
  cable: { about: "say what a cable joins, design the one to solder, draw it", load: () => import("./cable.ts") },
  listen: {
    about: "tell rate, frame and polarity of a line, at a port or from a capture",
    load: () => import("./listen.ts"),
  },
  ports: { about: "list the serial ports of this computer", load: () => import("./ports.ts") },
  talk: { about: "talk to what is at the other end of a line, and keep the session", load: () => import("./talk.ts") },
  send: { about: "send files over a line", load: () => import("./send.ts") },
  receive: { about: "receive files over a line", load: () => import("./receive.ts") },
  "line-test": {
    about: "measure bit errors of a line at each rate, and its control lines",
    load: () => import("./line-test.ts"),
  },
  bridge: { about: "make a terminal usable that is smaller than the program", load: () => import("./bridge.ts") },
  plan: { about: "list the steps of the bring-up, and keep what was done at each", load: () => import("./plan.ts") },
  why: {
    about: "rank why the bench does not start, and propose the next test",
    load: () => import("./why.ts"),
  },
  show: { about: "time the script of the show, and say when to start", load: () => import("./show.ts") },
  replay: {
    about: "show a captured session again, or write it as page, captions, still or text",
    load: () => import("./replay.ts"),
  },
  assemble: { about: "assemble a 6809, 6502 or Z80 program, with its cycles", load: () => import("./assemble.ts") },
  pack: { about: "pack the record of a job into a bag, with checksums", load: () => import("./pack.ts") },
  verify: { about: "verify that a bag is whole", load: () => import("./verify.ts") },
  catalogue: {
    about: "list chips, drives, media and other parts, each value with its source",
    load: () => import("./catalogue.ts"),
  },
  schema: { about: "print the JSON Schema of the bench file or of the report", load: () => import("./schema.ts") },
};

const BAD_INPUT = 2;
const OUR_FAULT = 70;

function overview(): string {
  const width = Math.max(...Object.keys(VERBS).map((name) => name.length));
  return [
    "rouse: from a preserved disk image to a login on the original machine",
    "",
    "  rouse VERB [what it works on] [options]",
    "",
    ...Object.entries(VERBS).map(([name, { about }]) => `  ${name.padEnd(width)}  ${about}`),
    "",
    "`rouse VERB --help` says more. `rouse check demo/first-try` is a good first step.",
    "Exit code: 0 nothing stops, 1 something stops, 2 bad input, 70 our fault.",
  ].join("\n");
}

function helpOf(name: string, verb: Verb): string {
  const rows = Object.entries(verb.options).map(([option, { about, value, short }]) => [
    `--${option}${value ? ` ${value}` : ""}${short ? `, -${short}` : ""}`,
    about,
  ]);
  const width = Math.max(0, ...rows.map(([left]) => left!.length));
  return [
    `rouse ${name} ${verb.usage}`,
    "",
    ...verb.help,
    ...(rows.length > 0 ? ["", ...rows.map(([left, about]) => `  ${left!.padEnd(width)}  ${about}`)] : []),
    ...(verb.examples.length > 0
      ? ["", "Examples:", ...verb.examples.map(([command, what]) => `  ${command}\n      ${what}`)]
      : []),
  ].join("\n");
}

const sentence = (text: string) => process.stderr.write(`rouse: ${text}\n`);

async function main(argv: readonly string[]): Promise<number> {
  const [name, ...rest] = argv;
  if (name === undefined || name === "--help" || name === "-h" || name === "help") {
    if (rest[0] === undefined || !Object.hasOwn(VERBS, rest[0])) {
      console.log(overview());
      return name === undefined ? BAD_INPUT : 0;
    }
    console.log(helpOf(rest[0], (await VERBS[rest[0]]!.load()).verb));
    return 0;
  }
  if (name === "--version") {
    console.log((await import("../job/version.ts")).VERSION);
    return 0;
  }
  if (!Object.hasOwn(VERBS, name)) {
    const { nearest } = await import("@rouse/core/errors/nearest");
    const close = nearest(name, Object.keys(VERBS));
    sentence(
      `“${name}” is not a verb; ${close ? `did you mean “${close}”?` : `there is ${Object.keys(VERBS).join(", ")}`}`,
    );
    return BAD_INPUT;
  }
  const { verb } = await VERBS[name]!.load();
  let parsed: ReturnType<typeof parseArgs>;
  try {
    parsed = parseArgs({
      args: rest as string[],
      allowPositionals: true,
      options: { ...verb.options, help: { type: "boolean", short: "h" }, "no-colour": { type: "boolean" } },
    });
  } catch (error) {
    sentence(`${(error as Error).message.split(". ")[0]}; \`rouse ${name} --help\` lists the options`);
    return BAD_INPUT;
  }
  if (parsed.values.help) {
    console.log(helpOf(name, verb));
    return 0;
  }
  const screen = stdoutIsScreen();
  const colour = !parsed.values["no-colour"] && process.env.NO_COLOR === undefined && screen;
  return verb.run(
    { positionals: parsed.positionals, values: parsed.values },
    {
      line: printLine,
      width: Math.max(40, Math.min((screen && stdout().columns) || 100, 120)),
      colour,
    },
  );
}

/** An internal fault: a short report is left in the temporary folder, to be sent to those who carry on the work. */
async function tellFault(error: unknown, argv: readonly string[]): Promise<void> {
  const { writeFault } = await import("./fault.ts");
  sentence(`this is our fault, not yours. A report that can be sent is in ${writeFault(error, argv)}`);
}

/** Runs the command and sets the exit code. */
export async function run(argv: readonly string[]): Promise<void> {
  try {
    process.exitCode = await main(argv);
  } catch (error) {
    if (error instanceof InputError) {
      sentence(error.message);
      process.exitCode = BAD_INPUT;
    } else {
      await tellFault(error, argv);
      process.exitCode = OUR_FAULT;
    }
  }
}
