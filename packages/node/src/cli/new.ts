import { access } from "node:fs/promises";
import { join } from "node:path";
import { createInterface } from "node:readline";
import { type BenchAnswers, checkAnswer, starterBench } from "@rouse/core/bench";
import { type Catalogue, loadCatalogue } from "@rouse/core/catalogue";
import { InputError } from "@rouse/core/errors";
import { BENCH_FILE, writeWhole } from "../store/index.ts";
import type { Output, Verb } from "./verb.ts";

const LIKE = { demo: "mended", "demo-faults": "first-try", "demo-z": "second-machine" } as const;

const exists = (path: string): Promise<boolean> =>
  access(path).then(
    () => true,
    () => false,
  );

interface Question {
  key: keyof BenchAnswers;
  text: string;
  usual: string;
}

const QUESTIONS: readonly Question[] = [
  { key: "name", text: "What shall this bench be called?", usual: "my bench" },
  { key: "computer", text: "What do you call the computer?", usual: "the computer" },
  { key: "cpu", text: "Which CPU is in it, by part number (MC6809E, 6502, Z80A)?", usual: "" },
  { key: "clock", text: "At what bus clock (1 MHz)?", usual: "" },
  { key: "image", text: "What is the disk image called, inside images/?", usual: "disk.img" },
  {
    key: "recording",
    text: "How is it recorded (a name from `rouse catalogue recordings`; empty if unknown)?",
    usual: "",
  },
  { key: "uart", text: "Which part makes the serial port (MC6850, 6551, 16450)?", usual: "" },
  { key: "rate", text: "What rate is the terminal set to (2,400 bit/s)?", usual: "" },
];

/**
 * Puts the questions; a line left empty, or the end of the input, takes the usual answer. An answer that cannot be used
 * is asked for again, so that the others are not lost with it.
 */
async function ask(out: Output, catalogue: Catalogue): Promise<BenchAnswers> {
  const reader = createInterface({ input: process.stdin });
  const lines = reader[Symbol.asyncIterator]();
  const answers: Partial<Record<keyof BenchAnswers, string>> = {};
  try {
    for (const { key, text, usual } of QUESTIONS) {
      for (;;) {
        out.line(`${text}${usual ? ` [${usual}]` : ""}`);
        const next = await lines.next();
        const answer = (next.done ? "" : next.value.trim()) || usual;
        if (!answer) break;
        try {
          checkAnswer(key, answer, catalogue);
        } catch (error) {
          if (!(error instanceof InputError)) throw error;
          out.line(`  ${error.message}`);
          continue;
        }
        answers[key] = answer;
        break;
      }
    }
  } finally {
    reader.close();
  }
  return answers as BenchAnswers;
}

export const verb: Verb = {
  usage: "[FOLDER]",
  help: [
    "Writes a bench file with comments, from a few questions or after one of the demo benches.",
    "What you leave empty stays a comment; `rouse check` then says which numbers it misses. A bench file that is there",
    "already is never written over.",
  ],
  options: {
    like: { type: "string", value: "WHICH", about: `start from a demo bench: ${Object.keys(LIKE).join(", ")}` },
    answers: { type: "string", value: "JSON", about: 'answers for machines: {"name": …, "cpu": …}' },
  },
  examples: [
    ["rouse new my-machine", "asks, and writes my-machine/bench.yaml"],
    ["rouse new my-machine --like demo", "a whole bench to change by hand"],
  ],
  async run({ positionals, values }, out) {
    if (positionals.length > 1) throw new InputError("one-folder", "Name one folder: rouse new FOLDER.");
    const folder = positionals[0] ?? ".";
    const file = join(folder, BENCH_FILE);
    if (await exists(file)) throw new InputError("bench-there", `${file} is there already; nothing was written.`);
    let text: string;
    if (values.like !== undefined) {
      if (!Object.hasOwn(LIKE, String(values.like)))
        throw new InputError(
          "no-such-demo",
          `There is no demo “${values.like}”; there is ${Object.keys(LIKE).join(", ")}.`,
        );
      const { DEMO_BENCHES } = await import("./demo-benches.ts");
      text = DEMO_BENCHES[LIKE[values.like as keyof typeof LIKE]];
    } else {
      const catalogue = loadCatalogue();
      let answers: BenchAnswers;
      if (typeof values.answers === "string") {
        try {
          answers = JSON.parse(values.answers) as BenchAnswers;
        } catch {
          throw new InputError("bad-json", '--answers is not JSON; expected something like {"name": "my bench"}.');
        }
      } else answers = await ask(out, catalogue);
      text = starterBench(answers, catalogue);
    }
    const { mkdir } = await import("node:fs/promises");
    await mkdir(join(folder, "images"), { recursive: true });
    await writeWhole(file, new TextEncoder().encode(text));
    out.line(`${file} is written. Put your image into ${join(folder, "images")}/, then: rouse check ${folder}`);
    return 0;
  },
};
