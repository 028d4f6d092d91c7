import { fstatSync, writeSync } from "node:fs";

/** Standard output. Node's stream for it takes long to load, so most of what is printed does without. */

let stream: NodeJS.WriteStream | undefined;

/** The stream, for what needs one. */
export function stdout(): NodeJS.WriteStream {
  stream ??= process.stdout.on("error", (error: NodeJS.ErrnoException) => {
    // The reader went away (`rouse look … | head`): nothing is wrong.
    if (error.code === "EPIPE") process.exit(0);
    throw error;
  });
  return stream;
}

/** Is it a terminal with columns, and not a pipe or a file? */
export function stdoutIsScreen(): boolean {
  try {
    return fstatSync(1).isCharacterDevice() && stdout().isTTY === true;
  } catch {
    return false;
  }
}

let waiting = "";

/** What was printed in one go reaches the system in one go. */
function flush(): void {
  let bytes: Uint8Array = new TextEncoder().encode(waiting);
  waiting = "";
  try {
    // Never past what the stream still holds.
    while (!stream && bytes.length > 0) bytes = bytes.subarray(writeSync(1, bytes));
  } catch {
    // A pipe that is full: the stream waits. What else is wrong it says again.
  }
  if (bytes.length > 0) stdout().write(bytes);
}

export function printLine(text = ""): void {
  if (waiting === "") process.nextTick(flush);
  waiting += `${text}\n`;
}
