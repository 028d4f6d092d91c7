import { CODES, type CodeName, visible } from "@rouse/core/bytes";
import { loadCatalogue } from "@rouse/core/catalogue";
import { InputError } from "@rouse/core/errors";
import { nearest } from "@rouse/core/errors/nearest";
import { type Ability, abilityOf } from "@rouse/core/terminal";
import { benchOfJob, jobCatalogue } from "../job/index.ts";
import { openJob } from "../store/index.ts";
import type { Verb } from "./verb.ts";

/** Options of all verbs that take a terminal by its name. */
export const TERMINAL_JOB: Verb["options"] = {
  job: {
    type: "string",
    value: "FOLDER",
    about: "CLASS may be of that job's own catalogue files, or a terminal of its bench",
  },
};

/** Which signs the terminal has at the places of ISO 646 that are left to the nations. */
export const TERMINAL_CODE: Verb["options"] = {
  code: {
    type: "string",
    value: "NAME",
    about: `the terminal's variant of ISO 646: ${CODES.map(({ name }) => name).join(", ")}; plain unless said`,
  },
};

export function terminalCode(wish: unknown): CodeName {
  const found = CODES.find(({ name }) => name.toLowerCase() === String(wish ?? "plain").toLowerCase());
  if (found) return found.name;
  throw new InputError(
    "no-code",
    `There is no code “${visible(String(wish))}”; there is ${CODES.map(({ name }) => name).join(", ")}.`,
  );
}

/** A terminal's ability by the name of its class, or by its own name on the bench of `folder`. Throws an `InputError`. */
export async function terminalNamed(name: string, folder: unknown): Promise<Ability> {
  const job = typeof folder === "string" ? await openJob(folder) : undefined;
  const { terminals } = job ? await jobCatalogue(job) : loadCatalogue();
  const found = terminals.get(name);
  if (found) return abilityOf(found);
  const names = [...terminals.keys()];
  if (job) {
    const read = await benchOfJob(job, String(folder));
    if ("problem" in read) throw new InputError("bad-bench", read.problem);
    const here = read.bench.terminals.find((each) => each.name === name);
    if (here?.class)
      return abilityOf(here.class, {
        ...(here.columns && { columns: here.columns.value }),
        ...(here.rows && { rows: here.rows.value }),
      });
    if (here)
      throw new InputError(
        "no-class",
        `What ${visible(name)} is able to do is not given: its class is missing (${here.path}.class).`,
      );
    names.push(...read.bench.terminals.map((each) => each.name));
  }
  const close = nearest(name, names);
  throw new InputError(
    "no-terminal",
    `There is no terminal “${visible(name)}”; ${close ? `did you mean “${close}”?` : `there is ${names.map(visible).join(", ")}.`}`,
  );
}
