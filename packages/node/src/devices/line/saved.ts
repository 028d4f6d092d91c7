import { stat, utimes } from "node:fs/promises";
import { join } from "node:path";
import { safeName, type TextReceiver, type TransferFile, type TransferMachine } from "@rouse/core/transfer";
import { hostName, writeNew } from "../../store/index.ts";

/** A name in the folder that is not taken yet: `A.TXT`, `A.TXT (2)`. */
async function freeName(folder: string, name: string): Promise<string> {
  const safe = hostName(safeName(name));
  for (let count = 1; ; count++) {
    const path = join(folder, count === 1 ? safe : `${safe} (${count})`);
    const taken = await stat(path).then(
      () => true,
      () => false,
    );
    if (!taken) return path;
  }
}

/** Saves a file that came over a line under its name, or the next free one; gives the path. */
export async function saveBeside(folder: string, file: TransferFile): Promise<string> {
  const path = await freeName(folder, file.name);
  await writeNew(path, file.bytes);
  await keepDate(path, file);
  return path;
}

/** Gives a saved file the date that came with it. */
export async function keepDate(path: string, { modified }: TransferFile): Promise<void> {
  if (modified !== undefined) await utimes(path, modified, modified);
}

/** Text has no end of its own: being stopped is one, and what has come is kept. */
export const untilStopped = (machine: TextReceiver): TransferMachine => ({
  start: (now) => machine.start(now),
  receive: (bytes, now) => machine.receive(bytes, now),
  tick: (now) => machine.tick(now),
  cancel: () => machine.finish(),
  get ended() {
    return machine.ended;
  },
});
