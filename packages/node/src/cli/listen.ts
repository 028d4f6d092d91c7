import { InputError } from "@rouse/core/errors";
import { inferLine, waveformOfSignal } from "@rouse/core/line";
import { formatNumber, formatValue } from "@rouse/core/quantity";
import { readSignals } from "@rouse/core/recording";
import { readImage } from "../store/index.ts";
import { columns, paint, wrap } from "./text.ts";
import type { Verb } from "./verb.ts";

const SHOWN = 5;

export const verb: Verb = {
  usage: "FILE",
  help: [
    "Tells which rate, frame and polarity a line has, from a capture of a logic analyser: a value change dump (IEEE 1364)",
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
    json: { type: "boolean", about: "print everything for machines" },
  },
  examples: [["rouse listen console.vcd", "what the line in that capture is set to"]],
  async run({ positionals, values }, out) {
    const [file, extra] = positionals;
    if (file === undefined || extra !== undefined)
      throw new InputError("one-capture", "Name one capture: rouse listen FILE.");
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
        `  ${formatNumber(each.probability * 100, 4)} %`,
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
