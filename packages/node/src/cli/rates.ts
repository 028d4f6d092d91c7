import type { BenchPort, BenchTerminal } from "@rouse/core/bench";
import { address, hex } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import {
  charactersPerSecond,
  type Frame,
  portRate,
  type RateRow,
  type RateSetting,
  rateTable,
  readFrame,
  sampling,
  screenTimes,
  textTime,
} from "@rouse/core/line";
import { formatNumber, formatValue } from "@rouse/core/quantity";
import { benchOfJob } from "../job/index.ts";
import { openJob } from "../store/index.ts";
import { columns, paint, wrap } from "./text.ts";
import type { Output, Verb } from "./verb.ts";

const MARK = { good: "●", tight: "▲", no: "■" } as const;
const percent = (share: number) => `${share < 0 ? "−" : "+"}${formatNumber(Math.abs(share) * 100, 3)} %`;

/** A setting in the bench file's words. */
function settingText({ divide, timer, ratio, divisor, code, bitCycles }: RateSetting): string {
  return [
    ...(divide > 1 ? [`divide ${formatNumber(divide)}`] : []),
    ...(timer ? [`timer ${timer.prescale > 1 ? `÷${timer.prescale}, ` : ""}count ${formatNumber(timer.count)}`] : []),
    ...(ratio === undefined ? [] : [`ratio ${ratio}`]),
    ...(divisor === undefined ? [] : [`divisor ${formatNumber(divisor)}`]),
    ...(code === undefined ? [] : [`code ${code}`]),
    ...(bitCycles === undefined ? [] : [`${formatNumber(bitCycles)} cycles a bit`]),
  ].join(", ");
}

function printWrites(out: Output, { writes }: RateRow): void {
  const rows = writes.map((each) => [
    `    ${each.address === undefined ? "" : address(each.address)}`,
    each.register,
    `$${hex(each.value, 2)}`,
    each.meaning,
  ]);
  for (const line of columns(rows)) out.line(line);
}

function printPort(out: Output, port: BenchPort, terminal: BenchTerminal | undefined, frame: Frame, banner: number) {
  const rows = rateTable(port, frame);
  out.line(
    paint(
      out.colour,
      "bold",
      `${port.name}: ${port.uart ?? "bits made by program"}, clock ${port.clock?.text}, ${frame.text}`,
    ),
  );
  const table = rows.map((row) => [
    `  ${row.current ? "→" : " "} ${MARK[row.verdict]} ${formatNumber(row.rate)}`,
    formatValue(row.made, "rate", 6),
    percent(row.error),
    settingText(row.setting),
    row.writes
      .filter((each) => /control|divisor|constant|WR4|timer|counter/.test(each.register))
      .map((each) => `$${hex(each.value, 2)}`)
      .join(" "),
  ]);
  for (const line of columns([["      bit/s", "made", "error", "best setting", "values"], ...table])) out.line(line);
  out.line(
    `  ● within what data sheets advise, ▲ within the limit of ${frame.text}, ■ beyond it; → as the bench has it`,
  );
  if (rows.some((row) => row.setting.divide !== (port.divide ?? 1)))
    out.line("  divide is made outside the part, by links or a divider chip: another one means work on the board");
  const able = port.chip?.uart?.frames;
  if (able && !able.includes(frame.text))
    for (const each of wrap(`■ ${port.uart} makes no ${frame.text}; it makes ${able.join(", ")}`, out.width, "  "))
      out.line(each);
  const now = rows.find((row) => row.current && row.verdict !== "no");
  if (now?.writes.length) {
    out.line();
    out.line(`  Writes for ${formatValue(now.rate, "rate")}, ${frame.text}:`);
    printWrites(out, now);
  }
  const made = portRate(port);
  const line = lineOf(port, terminal, frame, banner);
  if (!made.known || !line) return;
  out.line();
  out.line(`  ${made.formula}: ${made.steps} = ${formatValue(made.rate, "rate", 6)}`);
  if (line.sampling && terminal?.rate) {
    const { position, earliest, latest, margin, limit, advised } = line.sampling;
    for (const each of wrap(
      `${terminal.name} at ${formatValue(terminal.rate.value, "rate")}: the last bit is sampled at ${formatNumber(position * 100, 3)} % of it, with tolerances ${formatNumber(earliest * 100, 3)} to ${formatNumber(latest * 100, 3)} %; margin ${formatNumber(margin * 100, 3)} % of a bit. Limit without noise ±${formatNumber(limit * 100, 3)} %, advised ±${formatNumber(advised * 100, 3)} %.`,
      out.width,
      "  ",
    ))
      out.line(each);
  }
  out.line(`  ${formatNumber(line.charactersPerSecond, 4)} characters a second`);
  for (const { end, kept, bearable } of line.keeps)
    out.line(
      `  ${end} keeps ${kept === 1 ? "1 character" : `${formatNumber(kept)} characters`}: none is lost while it is away for up to ${formatValue(bearable, "time", 3)}`,
    );
  if (line.screen && terminal?.columns && terminal.rows)
    out.line(
      `  ${terminal.name}, ${terminal.columns.value} × ${terminal.rows.value}: a line ${formatValue(line.screen.line, "time", 3)}, a screen painted ${formatValue(line.screen.screen, "time", 3)}, scrolled through ${formatValue(line.screen.scroll, "time", 3)}`,
    );
  out.line(`  a login banner of ${formatNumber(banner)} characters: ${formatValue(line.banner, "time", 3)}`);
}

/** What the setting of the bench means on its line; undefined where no rate comes of it. Times in seconds. */
function lineOf(port: BenchPort, terminal: BenchTerminal | undefined, frame: Frame, banner: number) {
  const made = portRate(port);
  if (!made.known) return undefined;
  const spread = terminal?.rateError?.value ?? 0.002;
  const set = terminal?.rate?.value;
  const ends = [
    { end: port.name, kept: port.buffer ?? port.chip?.uart?.receiveBuffer },
    ...(terminal ? [{ end: terminal.name, kept: terminal.buffer }] : []),
  ];
  const charactersASecond = charactersPerSecond(made.rate, frame);
  return {
    charactersPerSecond: charactersASecond,
    ...(set && { sampling: sampling(made, { rate: set, low: set * (1 - spread), high: set * (1 + spread) }, frame) }),
    keeps: ends.flatMap(({ end, kept }) =>
      kept === undefined ? [] : [{ end, kept, bearable: kept / charactersASecond }],
    ),
    ...(terminal?.columns &&
      terminal.rows && { screen: screenTimes(made.rate, frame, terminal.columns.value, terminal.rows.value) }),
    banner: textTime(made.rate, frame, banner),
  };
}

const BANNER = 200;

export const verb: Verb = {
  usage: "[JOB] [PORT]",
  help: [
    "Lists every standard rate that a serial port of the bench can make, with its error, the best setting and the values",
    "to write to its registers; then what the setting of the bench means at the terminal. JOB is a folder with a",
    "bench.yaml; without it, the folder you are in. Without PORT, all ports.",
  ],
  options: {
    format: { type: "string", value: "FRAME", about: "frame to work with instead of the bench's: 8N1, 7E1" },
    banner: {
      type: "string",
      value: "COUNT",
      about: `characters of the login banner; the bench's, or ${BANNER}, unless said`,
    },
    json: { type: "boolean", about: "print everything for machines" },
  },
  examples: [
    ["rouse rates demo/mended", "what the console of the demo can be set to"],
    ["rouse rates demo/mended console --format 8N1", "the same for another frame"],
  ],
  async run({ positionals, values }, out) {
    if (positionals.length > 2)
      throw new InputError("one-port", `One job and one port at a time; “${positionals[2]}” is one too many.`);
    const read = await benchOfJob(await openJob(positionals[0] ?? "."), positionals[0] ?? ".");
    if ("problem" in read) {
      process.stderr.write(`${read.problem}\n`);
      return 2;
    }
    const { bench } = read;
    const wanted = positionals[1];
    const ports = bench.ports.filter((each) => wanted === undefined || each.name === wanted);
    if (ports.length === 0)
      throw new InputError(
        "no-such-port",
        wanted === undefined
          ? "This bench describes no serial port."
          : `There is no port “${wanted}” on this bench; there is ${bench.ports.map((each) => `“${each.name}”`).join(", ") || "none"}.`,
      );
    const banner = Number(values.banner ?? bench.show?.banner ?? BANNER);
    if (!Number.isSafeInteger(banner) || banner < 0)
      throw new InputError("bad-count", `--banner needs a whole number, not “${values.banner}”.`);
    const json: unknown[] = [];
    for (const [index, port] of ports.entries()) {
      const terminal = bench.cables.find((each) => each.from === port)?.to;
      const frame = readFrame(
        typeof values.format === "string" ? values.format : (port.format ?? terminal?.format ?? "8N1"),
      );
      if (values.json) {
        json.push({
          port: port.name,
          frame: frame.text,
          made: portRate(port),
          line: lineOf(port, terminal, frame, banner) ?? null,
          rates: rateTable(port, frame),
        });
        continue;
      }
      if (index > 0) out.line();
      printPort(out, port, terminal, frame, banner);
    }
    if (values.json) out.line(JSON.stringify({ format: "rouse-rates", version: 1, ports: json }, null, 2));
    return 0;
  },
};
