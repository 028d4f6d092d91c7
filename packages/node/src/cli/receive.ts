import { mkdir, stat } from "node:fs/promises";
import { dirname } from "node:path";
import { visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import { Receiver, TextReceiver, type TransferFile } from "@rouse/core/transfer";
import {
  answerTime,
  keepDate,
  LineSession,
  RealPort,
  runTransfer,
  saveBeside,
  untilStopped,
} from "../devices/line/index.ts";
import { readImage, writeWhole } from "../store/index.ts";
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

const exists = (path: string): Promise<boolean> =>
  stat(path).then(
    () => true,
    () => false,
  );

export const verb: Verb = {
  usage: "PORT FILE --protocol NAME",
  help: [
    "Receives a file over a line: by XMODEM (checksum, CRC, or 1,024-byte blocks) or as plain text; with YMODEM, FILE is",
    "a folder for all files of the batch. Nothing that is there is written over. What has come of a transfer that fails",
    "is kept as FILE.part. Plain text ends with silence or Ctrl-C.",
  ],
  options: {
    protocol: { type: "string", value: "NAME", short: "p", about: PROTOCOLS.join(", ") },
    ...LINE_OPTIONS,
    retries: { type: "string", value: "COUNT", about: "attempts at one block; 10 unless said" },
    trim: { type: "boolean", about: "with xmodem: take the filling (SUB) off the end; for text" },
    quiet: { type: "string", value: "TIME", about: "with text: silence that ends it; 5 s unless said" },
    resume: { type: "boolean", about: "with text: add to the file that is there" },
    force: { type: "boolean", about: "write over FILE" },
    json: { type: "boolean", about: "print events and result for machines" },
  },
  examples: [["rouse receive /dev/ttyUSB0 disk.img --protocol xmodem-crc", "one file by XMODEM with CRC"]],
  async run({ positionals, values }, out) {
    const [path, target, extra] = positionals;
    const protocol = PROTOCOLS.find((each) => each === values.protocol);
    if (path === undefined || target === undefined || extra !== undefined || !protocol)
      throw new InputError(
        "where-to",
        `Name a port, a file and a protocol: rouse receive PORT FILE --protocol ${PROTOCOLS.join("|")}.`,
      );
    const settings = lineSettings(values);
    const batch = protocol === "ymodem";
    const text = protocol === "text";
    if (settings.frame.data < 8 && !text)
      throw new InputError("needs-eight", `${protocol} needs 8 data bits, not ${settings.frame.text}.`);
    if (values.resume && !text) throw new InputError("no-resume", `${protocol} always begins a file anew.`);
    const there = await exists(target);
    if (!batch && there && !values.force && !values.resume)
      throw new InputError("file-exists", `${visible(target)} exists already; --force writes over it.`);
    if (batch) await mkdir(target, { recursive: true });
    else if (!(await exists(dirname(target))))
      throw new InputError("no-folder", `The folder of ${visible(target)} does not exist.`);
    const machine = text
      ? new TextReceiver({
          name: target,
          quiet: milliseconds(values, "quiet", 5000),
          ...(values.resume && there ? { before: (await readImage(target)).bytes } : {}),
        })
      : new Receiver(protocol, {
          name: target,
          retries: wholeNumber(values, "retries", 10),
          timeout: answerTime(settings.rate, settings.frame.bits),
          trim: values.trim === true,
          linger: 1000,
        });
    const saved: { name: string; path: string; length: number }[] = [];
    let saving: Promise<void> = Promise.resolve();
    const save = (file: TransferFile, part = false) => {
      saving = saving.then(async () => {
        let to = target;
        if (part || batch)
          to = await saveBeside(batch ? target : dirname(target), part ? { ...file, name: `${file.name}.part` } : file);
        else {
          await writeWhole(target, file.bytes);
          await keepDate(target, file);
        }
        saved.push({ name: file.name, path: to, length: file.bytes.length });
      });
      // Told where it is awaited, at the end.
      saving.catch(() => undefined);
    };
    const progress = transferProgress(values.json === true, visible(target));
    const session = new LineSession(new RealPort(path), settings);
    await session.open();
    const failed = await stoppable((signal) =>
      runTransfer(session, machine instanceof TextReceiver ? untilStopped(machine) : machine, {
        now: clock,
        signal,
        onEvent: (event) => {
          progress(event);
          if (event.kind === "file ends") save(event.file);
        },
      }),
    ).finally(() => session.close());
    if (failed && machine instanceof Receiver && machine.partial) save(machine.partial, true);
    await saving;
    if (values.json)
      out.line(JSON.stringify({ format: "rouse-transfer", version: 1, protocol, saved, failed: failed ?? null }));
    else {
      for (const each of saved) out.line(`${visible(each.path)}: ${each.length} bytes`);
      if (failed) out.line(failed);
    }
    return failed ? 1 : 0;
  },
};
