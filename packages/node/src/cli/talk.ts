import { basename } from "node:path";
import { visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import { TextSender } from "@rouse/core/transfer";
import { CaptureFile, LineSession, type LineSettings, RealPort, runTransfer } from "../devices/line/index.ts";
import { readImage } from "../store/index.ts";
import { COMMANDS, Console } from "./console.ts";
import { clock, controlCode, LINE_OPTIONS, lineSettings, milliseconds, settingsText } from "./line-options.ts";
import { stdout } from "./stdout.ts";
import type { Verb } from "./verb.ts";

/** Ctrl-_ (US): systems of the period give it no meaning, and most keyboards have it. */
const KEY = "_";

interface Paces {
  character: number;
  line: number;
}

const paste = (session: LineSession, paces: Paces) => async (path: string, signal: AbortSignal) => {
  const { bytes } = await readImage(path);
  const sender = new TextSender(
    { name: basename(path), bytes },
    { perCharacter: paces.character, afterLine: paces.line },
  );
  const failed = await runTransfer(session, sender, { now: clock, signal });
  return failed ?? `${visible(path)} is pasted, ${bytes.length} bytes`;
};

/** Everything on standard input goes out at the pace; the session ends when the other end has been silent for a while. */
async function throughPipe(session: LineSession, paces: Paces, quiet: number): Promise<void> {
  const chunks: Uint8Array[] = [];
  for await (const chunk of process.stdin) chunks.push(chunk as Uint8Array);
  let last = clock();
  session.listen((bytes) => {
    last = clock();
    stdout().write(bytes);
  });
  const sender = new TextSender(
    { name: "standard input", bytes: Buffer.concat(chunks) },
    { lineEnd: "keep", perCharacter: paces.character, afterLine: paces.line },
  );
  const failed = await runTransfer(session, sender, { now: clock });
  if (failed) throw new InputError("not-sent", failed);
  last = Math.max(last, clock());
  while (clock() - last < quiet) await new Promise((resolve) => setTimeout(resolve, 20));
}

function throughKeyboard(
  session: LineSession,
  paces: Paces,
  values: Record<string, unknown>,
  settings: LineSettings,
): Promise<void> {
  const name = typeof values.key === "string" ? values.key : KEY;
  const key = controlCode(name, "key");
  return new Promise((resolve) => {
    const end = () => {
      process.stdin.setRawMode(false);
      process.stdin.pause();
      process.off("SIGTERM", end);
      process.off("SIGHUP", end);
      resolve();
    };
    const desk = new Console(session, {
      key,
      keyName: `Ctrl-${name.toUpperCase()}`,
      echo: values.echo === true,
      hex: values.hex === true,
      show: (bytes) => stdout().write(bytes),
      paste: paste(session, paces),
      quit: end,
    });
    process.on("SIGTERM", end);
    process.on("SIGHUP", end);
    process.stdin.setRawMode(true);
    let typing: Promise<void> = Promise.resolve();
    process.stdin.on("data", (bytes: Uint8Array) => {
      typing = typing.then(() => desk.typed(bytes));
    });
    desk.say(`${visible(session.path)}: ${settingsText(settings)}. ${desk.keys()}`);
    desk.say(desk.state());
  });
}

export const verb: Verb = {
  usage: "PORT",
  help: [
    "Talks to what is at the other end of a line: what is typed goes out, what comes is shown as it is. Ctrl-_ (or the",
    "key of --key) is the command key:",
    ...COMMANDS.map(([key, what]) => `    Ctrl-_ ${key}  ${what}`),
    "    Ctrl-_ Ctrl-_  send Ctrl-_ itself",
    "An adapter that is pulled is opened again when it is back. Without a terminal, standard input is sent at the pace,",
    "and the session ends once the other end has been silent.",
  ],
  options: {
    ...LINE_OPTIONS,
    echo: { type: "boolean", about: "local echo: show what is typed" },
    hex: { type: "boolean", about: "show both directions in hex" },
    key: { type: "string", value: "CHARACTER", about: "the command key, pressed with Ctrl; _ unless said" },
    character: { type: "string", value: "TIME", about: "when pasting: time from one character to the next" },
    line: { type: "string", value: "TIME", about: "when pasting: pause after each line" },
    capture: {
      type: "string",
      value: "FILE",
      about: "keep all bytes of both directions, with times (docs/live-line.md)",
    },
    quiet: { type: "string", value: "TIME", about: "without a terminal: silence that ends it; 2 s unless said" },
  },
  examples: [
    ["rouse talk /dev/ttyUSB0 --rate 2400 --frame 7E1 --capture first-login.jsonl", "a session that is kept"],
    ["printf 'DIR\\r' | rouse talk /dev/ttyUSB0", "one command, and its answer"],
  ],
  async run({ positionals, values }) {
    const [path, extra] = positionals;
    if (path === undefined || extra !== undefined)
      throw new InputError("one-port", "Name one port: rouse talk PORT; `rouse ports` lists them.");
    const settings = lineSettings(values);
    const paces = {
      character: milliseconds(values, "character", (settings.frame.bits * 1000) / settings.rate),
      line: milliseconds(values, "line", 0),
    };
    const capture =
      typeof values.capture === "string"
        ? await CaptureFile.create(
            values.capture,
            { started: new Date().toISOString(), port: path, rate: settings.rate, frame: settings.frame.text },
            clock,
          )
        : undefined;
    const session = new LineSession(new RealPort(path), settings, capture ? { capture } : {});
    try {
      await session.open();
      if (process.stdin.isTTY) await throughKeyboard(session, paces, values, settings);
      else await throughPipe(session, paces, milliseconds(values, "quiet", 2000));
    } finally {
      await session.close();
    }
    if (capture?.failure !== undefined)
      throw new InputError(
        "capture-failed",
        `${visible(String(values.capture))} is not whole: the disk refused a write.`,
      );
    return 0;
  },
};
