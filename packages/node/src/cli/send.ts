import { stat } from "node:fs/promises";
import { basename } from "node:path";
import { InputError } from "@rouse/core/errors";
import { Sender, TextSender, type TransferFile } from "@rouse/core/transfer";
import { answerTime, LineSession, RealPort, runTransfer } from "../devices/line/index.ts";
import { readImage } from "../store/index.ts";
import {
  clock,
  LINE_OPTIONS,
  lineSettings,
  milliseconds,
  stoppable,
  transferProgress,
  wholeNumber,
} from "./line-options.ts";
import type { Verb } from "./verb.ts";

const PROTOCOLS = ["xmodem", "xmodem-crc", "xmodem-1k", "ymodem", "text"] as const;
const LINE_ENDS = ["cr", "lf", "crlf", "keep"] as const;

async function readFiles(paths: readonly string[]): Promise<TransferFile[]> {
  const files: TransferFile[] = [];
  for (const path of paths) {
    const { bytes } = await readImage(path);
    files.push({ name: basename(path), bytes, modified: Math.floor((await stat(path)).mtimeMs / 1000) });
  }
  return files;
}

export const verb: Verb = {
  usage: "PORT FILE… --protocol NAME",
  help: [
    "Sends files over a line: by XMODEM (checksum, CRC, or 1,024-byte blocks), YMODEM (any number of files, with names,",
    "lengths and dates), or as plain text at a pace that the other end can follow. Start the other end first.",
    "Ctrl-C cancels and tells the other end. None of the protocols goes on within a file; a batch goes on with --skip.",
  ],
  options: {
    protocol: { type: "string", value: "NAME", short: "p", about: PROTOCOLS.join(", ") },
    ...LINE_OPTIONS,
    retries: { type: "string", value: "COUNT", about: "attempts at one block; 10 unless said" },
    skip: { type: "string", value: "COUNT", about: "with ymodem: leave out the first files, which have arrived" },
    "line-end": { type: "string", value: "END", about: "with text: cr (unless said), lf, crlf or keep" },
    character: { type: "string", value: "TIME", about: "with text: time from one character to the next" },
    line: { type: "string", value: "TIME", about: "with text: pause after each line" },
    prompt: { type: "string", value: "CHARACTER", about: "with text: wait for this after each line" },
    json: { type: "boolean", about: "print events and result for machines" },
  },
  examples: [
    ["rouse send /dev/ttyUSB0 game.bin --protocol xmodem-crc --rate 2400", "one file by XMODEM with CRC"],
    ["rouse send /dev/ttyUSB0 list.bas --protocol text --line '200 ms'", "a listing, typed in slowly"],
  ],
  async run({ positionals, values }, out) {
    const [path, ...names] = positionals;
    const protocol = PROTOCOLS.find((each) => each === values.protocol);
    if (path === undefined || names.length === 0 || !protocol)
      throw new InputError(
        "what-to-send",
        `Name a port, a file and a protocol: rouse send PORT FILE --protocol ${PROTOCOLS.join("|")}.`,
      );
    if (protocol !== "ymodem" && names.length > 1)
      throw new InputError("one-file", `${protocol} takes one file; ymodem takes any number.`);
    const settings = lineSettings(values);
    if (settings.frame.data < 8 && protocol !== "text")
      throw new InputError("needs-eight", `${protocol} needs 8 data bits, not ${settings.frame.text}.`);
    const skip = wholeNumber(values, "skip", 0);
    const files = (await readFiles(names)).slice(skip);
    const options = {
      retries: wholeNumber(values, "retries", 10),
      timeout: answerTime(settings.rate, settings.frame.bits),
    };
    const machine =
      protocol === "text" ? textSender(files[0]!, values, settings) : new Sender(protocol, files, options);
    const session = new LineSession(new RealPort(path), settings);
    await session.open();
    const failed = await stoppable((signal) =>
      runTransfer(session, machine, { now: clock, onEvent: transferProgress(values.json === true), signal }),
    ).finally(() => session.close());
    const arrived = machine instanceof Sender ? machine.confirmed : failed ? 0 : 1;
    if (values.json)
      out.line(
        JSON.stringify({
          format: "rouse-transfer",
          version: 1,
          protocol,
          arrived: skip + arrived,
          failed: failed ?? null,
        }),
      );
    else if (failed) {
      out.line(failed);
      if (protocol === "ymodem" && arrived > 0)
        out.line(
          `${skip + arrived} of ${skip + files.length} files have arrived; go on with --skip ${skip + arrived}.`,
        );
    }
    return failed ? 1 : 0;
  },
};

function textSender(
  file: TransferFile,
  values: Record<string, unknown>,
  { rate, frame }: ReturnType<typeof lineSettings>,
): TextSender {
  const end = LINE_ENDS.find((each) => each === (values["line-end"] ?? "cr"));
  if (!end) throw new InputError("bad-end", `--line-end is one of ${LINE_ENDS.join(", ")}.`);
  const { prompt } = values;
  if (typeof prompt === "string" && (prompt.length !== 1 || prompt.charCodeAt(0) > 0xff))
    throw new InputError("bad-prompt", "--prompt takes one character.");
  return new TextSender(file, {
    lineEnd: end,
    perCharacter: milliseconds(values, "character", (frame.bits * 1000) / rate),
    afterLine: milliseconds(values, "line", 0),
    ...(typeof prompt === "string" ? { waitFor: prompt.charCodeAt(0) } : {}),
  });
}
