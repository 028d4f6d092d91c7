import { visible } from "../bytes/text.ts";
import { type Catalogue, findChip } from "../catalogue/index.ts";
import { InputError } from "../errors/index.ts";
import { nearest } from "../errors/nearest.ts";
import { parseQuantity } from "../quantity/index.ts";

/** Answers to the questions of `rouse new`; what is left out becomes a comment in the file. */
export interface BenchAnswers {
  name: string;
  computer?: string;
  cpu?: string;
  clock?: string;
  image?: string;
  recording?: string;
  uart?: string;
  rate?: string;
}

const quoted = (text: string): string => JSON.stringify(text);

/** Throws an `InputError` where an answer cannot be read, or would make a file that the next command refuses. */
export function checkAnswer(key: keyof BenchAnswers, answer: string, catalogue: Catalogue): void {
  if (visible(answer) !== answer) throw new InputError("bad-answer", "A control character is no part of an answer.");
  if (key === "clock") parseQuantity(answer, "frequency");
  if (key === "rate") parseQuantity(answer, "rate");
  if (key === "recording" && !catalogue.recordings.has(answer)) {
    const close = nearest(answer, catalogue.recordings.keys());
    throw new InputError(
      "no-such-recording",
      `The catalogue has no recording “${answer}”; ${close ? `did you mean “${close}”?` : "`rouse catalogue recordings` lists them."}`,
    );
  }
}

/**
 * A bench file to start from, with a comment for each thing that Rouse can use. Throws an `InputError` where an answer
 * cannot be read, so that nothing is written that the next command refuses.
 */
export function starterBench(answers: BenchAnswers, catalogue: Catalogue): string {
  const { name, computer, cpu, clock, image = "disk.img", recording, uart, rate } = answers;
  if (typeof name !== "string" || name === "") throw new InputError("no-name", "A bench needs a name.");
  for (const [key, value] of Object.entries(answers))
    if (typeof value !== "string") throw new InputError("bad-answer", `The answer “${key}” should be a text.`);
    else if (value !== "") checkAnswer(key as keyof BenchAnswers, value, catalogue);
  const part = (text: string | undefined) =>
    text === undefined ? undefined : (findChip(catalogue, text)?.part ?? text);
  const line = (indent: string, key: string, value: string | undefined, example: string, about: string) =>
    `${indent}${value === undefined || value === "" ? `# ${key}: ${example}` : `${key}: ${value}`}  # ${about}`;
  return `${[
    "# One description of everything on the table. `rouse check` works out whether the chain reaches the login;",
    "# what is not known may stay out: it is then told as unknown, never guessed. `rouse schema` helps your editor.",
    "rouse: 1",
    `name: ${quoted(name)}`,
    "",
    "computer:",
    `  name: ${quoted(computer ?? "the computer")}`,
    "  cpu:",
    line("    ", "part", part(cpu) && quoted(part(cpu)!), "MC6809E", "part number of the CPU"),
    line("    ", "clock", clock, "1 MHz", "one bus cycle of the CPU"),
    "  # mains: inside        # is mains voltage inside the case?",
    "  # memory:              # what answers where",
    "  #   main: { kind: ram, at: $0000, size: 32 KiB }",
    "  #   monitor: { kind: rom, at: $E000, size: 8 KiB }",
    "  # supply:",
    "  #   +5 V: { voltage: 5 V ± 5 %, limit: 2 A }",
    "  # boards:",
    "  #   main board: { chips: [{ part: 74LS244, count: 4 }] }",
    "",
    "# buses:                 # what the drives hang on",
    "#   disk bus: { kind: 34-wire drive bus }",
    "",
    "drives:",
    "  drive A:",
    "    # class: …           # `rouse catalogue drives` lists the classes",
    "    # bus: disk bus",
    "",
    "media:",
    "  blank disk:",
    "    # class: …           # `rouse catalogue media` lists the classes",
    "",
    "images:",
    "  system disk:",
    `    file: ${quoted(`images/${image}`)}`,
    line("    ", "recording", recording, "…", "`rouse catalogue recordings` lists them"),
    "    medium: blank disk",
    "    drive: drive A",
    "    # from: …            # from whom or where the image came",
    "    # received: …        # when: 2026-03-14",
    "    # permission: …      # who allowed its use, in their words",
    "    # licence: …         # the licence that it is under",
    "",
    "ports:",
    "  console:",
    line("    ", "uart", part(uart) && quoted(part(uart)!), "MC6850", "the part that makes the port"),
    "    # clock: 1.8432 MHz  # crystal that the rate is made from",
    "    # divide: 1          # divider between crystal and part",
    "    # ratio: 16          # ratio chosen in the part; or divisor, or code",
    "    # format: 8N1",
    "    # connector: DB-25",
    "    # role: DTE          # never inferred from the connector",
    "    # levels: V.28       # measure the idle line first",
    "",
    "terminals:",
    "  terminal:",
    "    # class: …           # `rouse catalogue terminals` lists the classes",
    line("    ", "rate", rate, "9,600 bit/s", "what it is set to"),
    "    # format: 8N1",
    "    # connector: DB-25",
    "    # role: DTE",
    "    # levels: V.28",
    "",
    "cables:",
    "  terminal cable:",
    "    from: console",
    "    to: terminal",
    "    # kind: null modem   # or straight, three wires, wired …; `rouse schema` has them all",
    "    # length: 2 m",
    "",
    "show:",
    "  target: login",
    "  image: system disk",
    "  port: console",
    "  terminal: terminal",
    "  # people: 20",
    "  # distance: 3 m",
    "  # patience: 60 s",
  ].join("\n")}\n`;
}
