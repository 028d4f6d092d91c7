import { InputError } from "@rouse/core/errors";
import { formatNumber, formatValue } from "@rouse/core/quantity";
import {
  controlWords,
  lineVerdict,
  type RateResult,
  RealPort,
  ratesUpTo,
  testControls,
  testLine,
} from "../devices/line/index.ts";
import { clock, LINE_OPTIONS, lineSettings, milliseconds, readRate, stoppable } from "./line-options.ts";
import { columns, paint, wrap } from "./text.ts";
import type { Verb } from "./verb.ts";

const shownRate = (rate: number) => formatValue(rate, "rate");
const share = (value: number) => (value === 0 ? "0" : value.toExponential(1).replace("-", "−"));

function row(result: RateResult): string[] {
  const { verdict, characters, wrongBits, bitErrors, lost, extra, unplaced } = result;
  const mark = verdict === "good" ? "●" : verdict === "errors" ? "■" : "○";
  if (verdict === "port refuses the rate" || verdict === "nothing came back")
    return [`${mark} ${shownRate(result.rate)}`, verdict, "", "", "", ""];
  return [
    `${mark} ${shownRate(result.rate)}`,
    `${formatNumber(characters)} characters`,
    `${formatNumber(wrongBits)} wrong bits`,
    `${share(bitErrors.rate)} (${share(bitErrors.low)} to ${share(bitErrors.high)})`,
    `${formatNumber(lost)} lost, ${formatNumber(extra)} too many${unplaced > 0 ? `, ${formatNumber(unplaced)} garbled` : ""}`,
    `${formatNumber(Math.round(result.speed))} a second`,
  ];
}

export const verb: Verb = {
  usage: "PORT",
  help: [
    "Measures a line: sends a pseudo-random sequence (ITU-T O.150, 2^15 − 1 bits) and compares what comes back, at each",
    "standard rate up to the highest; tells bit errors with their 95 % interval, characters lost and too many, and which",
    "control lines follow RTS and DTR. Needs a loopback plug (transmit joined to receive, RTS to CTS, DTR to DSR and DCD)",
    "or, with --rates, a far end at that rate that echoes every character.",
  ],
  options: {
    highest: { type: "string", value: "RATE", about: "test up to this rate; 115200 unless said" },
    rates: { type: "string", value: "LIST", about: "test these rates only: 2400,4800" },
    frame: LINE_OPTIONS.frame!,
    time: { type: "string", value: "TIME", about: "how long to send at each rate; 2 s unless said" },
    "no-controls": { type: "boolean", about: "leave the control lines alone" },
    json: { type: "boolean", about: "print for machines" },
  },
  examples: [
    ["rouse line-test /dev/ttyUSB0", "with a loopback plug: how fast this adapter and cable are good"],
    ["rouse line-test /dev/ttyUSB0 --rates 2400 --time '60 s'", "with a far end that echoes"],
  ],
  async run({ positionals, values }, out) {
    const [path, extra] = positionals;
    if (path === undefined || extra !== undefined)
      throw new InputError("one-port", "Name one port: rouse line-test PORT; `rouse ports` lists them.");
    const { frame } = lineSettings(values);
    const rates =
      typeof values.rates === "string"
        ? values.rates
            .split(",")
            .map(readRate)
            .sort((a, b) => a - b)
        : ratesUpTo(typeof values.highest === "string" ? readRate(values.highest) : 115_200);
    if (rates.length === 0) throw new InputError("no-rates", "No standard rate is that low.");
    const port = new RealPort(path);
    const results = await stoppable((signal) =>
      testLine(port, {
        rates,
        frame,
        seconds: milliseconds(values, "time", 2000) / 1000,
        now: clock,
        signal,
        onResult: (result) => {
          if (!values.json) process.stderr.write(`${shownRate(result.rate)}: ${result.verdict}\n`);
        },
      }),
    );
    const controls = values["no-controls"]
      ? undefined
      : await testControls(port, { rate: rates[0]!, frame, flow: "none" });
    const good = results.every((each) => each.verdict === "good" || each.verdict === "port refuses the rate");
    if (values.json) {
      out.line(
        JSON.stringify(
          { format: "rouse-line-test", version: 1, port: path, frame: frame.text, results, controls: controls ?? null },
          null,
          2,
        ),
      );
      return good ? 0 : 1;
    }
    for (const line of columns(results.map(row))) out.line(line);
    if (controls) for (const line of controlWords(controls)) out.line(`  ${line}`);
    else if (!values["no-controls"]) out.line("  control lines: this port does not show any");
    out.line(paint(out.colour, "bold", lineVerdict(results, shownRate)));
    for (const line of wrap(
      "Figures in brackets are the 95 % interval, as if errors struck independently; bursts make it wider.",
      out.width,
    ))
      out.line(paint(out.colour, "faint", line));
    return good ? 0 : 1;
  },
};
