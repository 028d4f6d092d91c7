import { readBench } from "@rouse/core/bench";
import { loadCatalogue, type UserFile } from "@rouse/core/catalogue";
import { InputError } from "@rouse/core/errors";
import { createRehearsal, type Rehearsal, type RehearsalOptions } from "@rouse/core/rehearse";
import { ask, askBytes, ServerProblem } from "../../job/api.ts";

const fileAt = (kind: "rom" | "disk", file: string): Promise<Uint8Array> =>
  askBytes(`rehearsal/${kind}?${new URLSearchParams({ file })}`);

/** The machine of a bench file's text, with ROMs and disks from the job. Throws an `InputError` or a `ServerProblem`. */
export async function machineOf(text: string, options: RehearsalOptions = {}): Promise<Rehearsal> {
  const { bench, issues } = readBench(text, loadCatalogue(await ask<UserFile[]>("rehearsal/catalogue")));
  if (!bench)
    throw new InputError(
      "bad-bench",
      `The bench file cannot be used; the page Bench file shows why.${issues[0] ? ` Line ${issues[0].line}: ${issues[0].sentence}` : ""}`,
    );
  const roms = new Map<string, Uint8Array>();
  for (const { file } of bench.computer?.regions ?? [])
    if (file !== undefined && !roms.has(file)) roms.set(file, await fileAt("rom", file));
  const images = new Map<string, Uint8Array>();
  for (const { file } of bench.images) {
    if (images.has(file)) continue;
    try {
      images.set(file, await fileAt("disk", file));
    } catch (error) {
      // A disk that is not there is told by the rehearsal, where the machine needs it.
      if (!(error instanceof ServerProblem) || error.code !== "no-such-file") throw error;
    }
  }
  return createRehearsal(bench, { roms, images }, options);
}
