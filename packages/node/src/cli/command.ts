import { parseArgs } from "node:util";
import { InputError } from "@rouse/core/errors";
import { printLine, stdout, stdoutIsScreen } from "./stdout.ts";
import type { Verb } from "./verb.ts";

/** The verbs, each with what it does; its code loads when it is asked for. */
export type Verbs = Readonly<Record<string, { about: string; load: () => Promise<{ verb: Verb }> }>>;

const BAD_INPUT = 2;
const OUR_FAULT = 70;

function overview(verbs: Verbs): string {
  const width = Math.max(...Object.keys(verbs).map((name) => name.length));
  return [
    "rouse: from a preserved disk image to a login on the original machine",
    "",
    "  rouse VERB [what it works on] [options]",
    "",
    ...Object.entries(verbs).map(([name, { about }]) => `  ${name.padEnd(width)}  ${about}`),
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

/** Joins an option and a value that begins with a minus and a digit, as "-12.1 V": to the parser it would be an option. */
const withNegatives = (args: readonly string[]): string[] =>
  args.reduce<string[]>((joined, each, index) => {
    const before = joined.at(-1);
    if (/^-[\d.]/.test(each) && /^--[\w-]+$/.test(before ?? "") && !args.slice(0, index).includes("--"))
      joined[joined.length - 1] = `${before}=${each}`;
    else joined.push(each);
    return joined;
  }, []);

async function main(verbs: Verbs, argv: readonly string[]): Promise<number> {
  const [name, ...rest] = argv;
  if (name === undefined || name === "--help" || name === "-h" || name === "help") {
    if (rest[0] === undefined || !Object.hasOwn(verbs, rest[0])) {
      console.log(overview(verbs));
      return name === undefined ? BAD_INPUT : 0;
    }
    console.log(helpOf(rest[0], (await verbs[rest[0]]!.load()).verb));
    return 0;
  }
  if (name === "--version") {
    console.log((await import("../job/version.ts")).VERSION);
    return 0;
  }
  if (!Object.hasOwn(verbs, name)) {
    const { nearest } = await import("@rouse/core/errors/nearest");
    const close = nearest(name, Object.keys(verbs));
    sentence(
      `“${name}” is not a verb; ${close ? `did you mean “${close}”?` : `there is ${Object.keys(verbs).join(", ")}`}`,
    );
    return BAD_INPUT;
  }
  const { verb } = await verbs[name]!.load();
  let parsed: ReturnType<typeof parseArgs>;
  try {
    parsed = parseArgs({
      args: withNegatives(rest),
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

/** The command of these verbs: runs what it is asked for and sets the exit code. */
export const commandOf =
  (verbs: Verbs) =>
  async (argv: readonly string[]): Promise<void> => {
    try {
      process.exitCode = await main(verbs, argv);
    } catch (error) {
      if (error instanceof InputError) {
        sentence(error.message);
        process.exitCode = BAD_INPUT;
      } else {
        await tellFault(error, argv);
        process.exitCode = OUR_FAULT;
      }
    }
  };
