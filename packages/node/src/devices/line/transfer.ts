import { InputError } from "@rouse/core/errors";
import { type Step, TextSender, type TransferEvent, type TransferMachine } from "@rouse/core/transfer";

/** Both directions of a line, as a transfer needs them. */
export interface Way {
  write(bytes: Uint8Array): Promise<void>;
  drain(): Promise<void>;
  /** Calls `onData` for all that comes until the function given back is called. */
  listen(onData: (bytes: Uint8Array) => void): () => void;
}

export interface TransferRun {
  /** A steady clock in ms. */
  now: () => number;
  onEvent?: (event: TransferEvent) => void;
  /** Cancels: the other end is told. */
  signal?: AbortSignal;
}

/**
 * Runs one end of a transfer over a line until it is done or has failed; gives why it failed, or undefined. Nothing here
 * waits but on the line and on timers. A line that fails ends it with the line's sentence.
 */
export async function runTransfer(
  way: Way,
  machine: TransferMachine,
  { now, onEvent, signal }: TransferRun,
): Promise<string | undefined> {
  let failed: string | undefined;
  let timer: NodeJS.Timeout | undefined;
  let writing: Promise<void> = Promise.resolve();
  let finish!: () => void;
  const finished = new Promise<void>((resolve) => {
    finish = resolve;
  });
  const lost = (error: unknown) => {
    failed ??= error instanceof InputError ? error.message : "The line failed.";
    finish();
  };
  const follow = (step: Step) => {
    clearTimeout(timer);
    if (step.send.length > 0) writing = writing.then(() => way.write(step.send)).catch(lost);
    for (const event of step.events) {
      if (event.kind === "failed") failed = event.why;
      onEvent?.(event);
    }
    if (machine.ended) finish();
    else if (step.wake !== undefined)
      timer = setTimeout(() => follow(machine.tick(now())), Math.max(0, step.wake - now()));
  };
  const cancel = () => follow(machine.cancel(now()));
  const silence = way.listen((bytes) => {
    if (!machine.ended) follow(machine.receive(bytes, now()));
  });
  try {
    if (signal?.aborted) cancel();
    else {
      signal?.addEventListener("abort", cancel);
      follow(machine.start(now()));
    }
    await finished;
    await writing;
    // Text is confirmed by nobody. With a protocol it is over once both ends agree, though the other one be gone by now.
    await way.drain().catch((error: unknown) => {
      if (machine instanceof TextSender) lost(error);
    });
    return failed;
  } finally {
    clearTimeout(timer);
    signal?.removeEventListener("abort", cancel);
    silence();
  }
}

/** Longest block of the protocols with its frame, in characters. */
const LONGEST_BLOCK = 1029;

/** Ms to wait for an answer: the protocols' 10 s, and the time that a block takes on a line of this rate. */
export const answerTime = (rate: number, bitsPerCharacter: number): number =>
  10_000 + Math.ceil((LONGEST_BLOCK * bitsPerCharacter * 1000) / rate);
