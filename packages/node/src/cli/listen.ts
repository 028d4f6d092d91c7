import { stat } from "node:fs/promises";
import { InputError } from "@rouse/core/errors";
import { inferLine, waveformOfSignal } from "@rouse/core/line";
import { formatNumber, formatValue } from "@rouse/core/quantity";
import { readSignals } from "@rouse/core/recording";
import { bestHeard, hearLine, RealPort } from "../devices/line/index.ts";
import { readImage } from "../store/index.ts";
import { milliseconds, readRate, stoppable } from "./line-options.ts";
import { columns, paint, wrap } from "./text.ts";
import type { Output, Verb } from "./verb.ts";

const SHOWN = 5;

/** A probability; what is next to nothing is not told by powers of ten. */
const percent = (share: number): string => (share < 0.001 ? "under 0.1 %" : `${formatNumber(share * 100, 4)} %`);

const isPort = (path: string): Promise<boolean> =>
  stat(path).then(
    (found) => found.isCharacterDevice(),
    // Ports of some systems are no files.
    () => /^COM\d+$/i.test(path),
  );

/** Listens at a port: one rate after the other until the bytes make sense. */
async function listenAt(path: string, values: Record<string, unknown>, out: Output): Promise<number> {
  const heard = await stoppable((signal) =>
    hearLine(new RealPort(path), {
      ...(typeof values.rates === "string" ? { rates: values.rates.split(",").map(readRate) } : {}),
      patience: milliseconds(values, "time", 3000),
      signal,
      onHeard: ({ rate, bytes, sense }) =>
        process.stderr.write(
          `${formatValue(rate, "rate")}: ${bytes === 0 ? "silence" : `${bytes} bytes, ${sense === 0 ? "of another rate" : `${Math.round(sense * 100)} % text`}`}\n`,
        ),
    }),
  );
  const best = bestHeard(heard);
  if (values.json) out.line(JSON.stringify({ format: "rouse-heard", version: 1, best: best ?? null, heard }, null, 2));
  else if (!best) {
    const silent = heard.every((each) => each.bytes === 0);
    const told = silent
      ? "Nothing came at any rate: is anything sent, and is its transmit joined to this port's receive?"
      : "What came makes no sense at any of these rates. The line may be inverted, or carry something other than text; a capture of a logic analyser tells more.";
    for (const line of wrap(told, out.width)) out.line(line);
  } else {
    out.line(
      paint(
        out.colour,
        "bold",
        `${formatValue(best.rate, "rate")}, ${best.answer?.frame}: ${Math.round(best.sense * 100)} % of ${best.bytes} bytes make sense`,
      ),
    );
    const rows = (best.ranked ?? []).map((each) => [
      `  ${percent(each.probability)}`,
      formatValue(each.rate, "rate"),
      each.frame,
      each.inverted ? "inverted" : "",
    ]);
    for (const line of columns(rows)) out.line(line.trimEnd());
    for (const text of (best.answer?.text ?? "").split(/\r\n?|\n/))
      for (const line of wrap(text, out.width, "  ")) out.line(line);
  }
  return best ? 0 : 1;
}

export const verb: Verb = {
  usage: "FILE or PORT",
  help: [
    "Tells what a line is set to. At a serial port it reads at a high rate while something is sent, rebuilds the waveform",
    "from the bytes and their faults, and reads again at the rate that it found: rate, data bits, parity and polarity, with",
    "probabilities (how many stop bits is not seen). Where the system does not mark faults, or with --rates, it reads at one",
    "rate after the other and judges what comes as text, in frames of ten bits.",
    "From a capture of a logic analyser it tells any rate, frame and polarity: a value change dump (IEEE 1364)",
    "or a table of seconds and level. The likeliest answers come first, with the text as decoded. The capture should be",
    "of the voltage at a TTL pin: a V.28 line has the opposite polarity, so “inverted” there means V.28 seen directly.",
  ],
  options: {
    signal: {
      type: "string",
      value: "NAME",
      about: "signal of the capture; the one that changes most where nothing is said",
    },
    all: { type: "boolean", short: "a", about: "list every answer that was tried" },
    rates: { type: "string", value: "LIST", about: "at a port: listen at these rates only" },
    time: { type: "string", value: "TIME", about: "at a port: how long to listen at each rate; 3 s unless said" },
    json: { type: "boolean", about: "print everything for machines" },
  },
  examples: [
    ["rouse listen /dev/ttyUSB0", "what the machine at that port talks at; make it print something meanwhile"],
    ["rouse listen console.vcd", "what the line in that capture is set to"],
  ],
  async run({ positionals, values }, out) {
    const [file, extra] = positionals;
    if (file === undefined || extra !== undefined)
      throw new InputError("one-capture", "Name one capture or port: rouse listen FILE.");
    if (await isPort(file)) return listenAt(file, values, out);
    const signals = readSignals((await readImage(file)).bytes);
    const named = signals.find((each) => each.name === values.signal);
    if (values.signal !== undefined && !named)
      throw new InputError(
        "no-such-signal",
        `There is no signal “${values.signal}” in ${file}; there is ${
          signals
            .slice(0, 20)
            .map((each) => `“${each.name}”`)
            .join(", ") || "none"
        }.`,
      );
    const signal = named ?? [...signals].sort((a, b) => b.changes.length - a.changes.length)[0];
    if (!signal) throw new InputError("no-signal", `${file} has no signal of one bit.`);
    const answers = inferLine(waveformOfSignal(signal));
    if (values.json) {
      out.line(
        JSON.stringify(
          {
            format: "rouse-line",
            version: 1,
            signal: signal.name,
            answers: answers.slice(0, values.all ? undefined : SHOWN),
          },
          null,
          2,
        ),
      );
      return 0;
    }
    out.line(`signal “${signal.name}”, ${formatNumber(signal.changes.length)} changes`);
    const rows = answers
      .slice(0, values.all ? undefined : SHOWN)
      .map((each) => [
        `  ${percent(each.probability)}`,
        each.standardRate === undefined ? "no standard rate" : formatValue(each.standardRate, "rate"),
        `measured ${formatValue(each.rate, "rate", 5)}`,
        each.frame,
        each.inverted ? "inverted" : "",
      ]);
    for (const line of columns(rows)) out.line(line.trimEnd());
    const [best] = answers;
    if (!best) return 0;
    const wrong = best.characters.filter((each) => !each.parity || !each.framing).length;
    out.line();
    out.line(
      paint(
        out.colour,
        "bold",
        `${formatNumber(best.characters.length)} characters, ${formatNumber(wrong)} with wrong parity or stop bits:`,
      ),
    );
    for (const text of best.text.split(/\r\n?|\n/)) for (const line of wrap(text, out.width, "  ")) out.line(line);
    return 0;
  },
};
