import type { Bench } from "@rouse/core/bench";
import { printIssues } from "@rouse/core/bench";
import {
  type BusTiming,
  busTimings,
  type FanOut,
  fanOuts,
  fittingsOf,
  type RailState,
  railStates,
} from "@rouse/core/board";
import { InputError } from "@rouse/core/errors";
import { cautionsFor } from "@rouse/core/fit";
import { formatNumber, formatValue } from "@rouse/core/quantity";
import { checkJob, jobCatalogue } from "../job/index.ts";
import { openJob } from "../store/index.ts";
import { columns, paint, wrap } from "./text.ts";
import type { Output, Verb } from "./verb.ts";

type Computer = NonNullable<Bench["computer"]>;

const current = (value: number): string => formatValue(value, "current", 3);
const volts = (value: number): string => formatValue(value, "voltage", 3);
const time = (seconds: number): string => `${seconds < 0 ? "−" : ""}${formatValue(Math.abs(seconds), "time", 3)}`;

function table(out: Output, title: string, rows: readonly (readonly string[])[]): void {
  out.line(paint(out.colour, "bold", title));
  for (const line of columns(rows.map(([first = "", ...rest]) => [`  ${first}`, ...rest]))) out.line(line);
  out.line();
}

function printSupply(out: Output, rails: readonly RailState[]): void {
  for (const { rail, load, limit, reserve, missing, ...rest } of rails) {
    const rows = load.rows.map((row) => [
      row.board + (row.added ? " (added)" : ""),
      row.part === undefined ? "as stated" : `${row.count} × ${row.part}`,
      current(row.typical),
      current(row.max),
    ]);
    table(out, `Supply ${rail}`, [
      ["board", "part", "typical", "greatest"],
      ...rows,
      ["sum", "", current(load.typical), current(load.max)],
      ...(load.added > 0 ? [["of it added", "", current(load.addedTypical), current(load.added)]] : []),
      ...(limit === undefined ? [] : [["limit", "", "", current(limit)]]),
      ...(reserve === undefined ? [] : [["reserve to keep", "", "", current(reserve)]]),
      ...missing.map((key) => ["not known", key, "", ""]),
    ]);
    printBehind(out, rail, rest);
  }
}

/** What feeds a rail, and what is left of it at the boards. */
function printBehind(out: Output, rail: string, { regulator, ripple, feeds }: Partial<RailState>): void {
  const rows: string[][] = [];
  if (regulator) {
    const { heat, limit, headroom, dropout, current, part } = regulator;
    rows.push([
      `regulator ${part}`,
      `${volts(heat.drop)} × greatest current = ${formatValue(heat.power, "power", 3)}`,
      `${formatNumber(heat.junction, 3)} °C at the junction of ${formatNumber(limit, 4)} °C`,
    ]);
    if (current !== undefined) rows.push(["", "greatest current of the part", formatValue(current, "current", 3)]);
    if (dropout !== undefined)
      rows.push(["", "between input and output", `${volts(headroom)}, ${volts(dropout)} needed`]);
  }
  if (ripple)
    rows.push([
      "ripple at low mains",
      `peak ${volts(ripple.peak)}, ripple ${volts(ripple.ripple)}`,
      `lowest ${volts(ripple.valley)}${ripple.needed === undefined ? "" : `, ${volts(ripple.needed)} needed`}`,
    ]);
  for (const { board, drop, usual, needed, wires, contacts } of feeds ?? [])
    rows.push([
      `way to ${board}`,
      `${formatValue(wires + contacts, "resistance", 3)} there and back: ${volts(drop)} lost`,
      `${volts(usual)} at the board, ${volts(needed)} needed`,
    ]);
  if (rows.length > 0) table(out, `Behind ${rail}`, rows);
}

function printFanOut(out: Output, loads: readonly FanOut[]): void {
  const use = (load: number, can: number | undefined) =>
    can === undefined ? `${current(load)} of ?` : `${load > can ? "■ " : ""}${current(load)} of ${current(can)}`;
  table(out, "Load of the bus lines", [
    ["lines", "driver", "high level", "low level", "unit loads", "capacitance", "rated"],
    ...loads.map((each) => [
      each.title,
      each.driver?.part ?? "?",
      use(each.load.high, each.canHigh?.value.value),
      use(each.load.low, each.canLow?.value.value),
      `${formatNumber(each.load.unitsHigh, 3)} / ${formatNumber(each.load.unitsLow, 3)}`,
      formatValue(each.load.capacitance, "capacitance", 3),
      each.rated === undefined
        ? "?"
        : `${formatValue(each.rated, "capacitance", 3)}${each.slowed ? `, ${time(each.slowed)} slower` : ""}`,
    ]),
    ...loads.flatMap((each) => each.missing.map((key) => ["not known", key])),
  ]);
}

/** A read as bars under a ruler of the cycle. */
function printTiming(out: Output, timing: BusTiming): void {
  const { path, window, spans, margin, fastest } = timing;
  const widest = Math.max(...spans.map((each) => each.what.length + (each.added ? 8 : 0)));
  const room = Math.max(20, out.width - widest - 26);
  const end = Math.max(window, ...spans.map((each) => each.to));
  const column = (seconds: number) => Math.round((seconds / end) * room);
  out.line(
    paint(
      out.colour,
      "bold",
      `Read of ${path.name}: ${time(window)} at ${formatValue(timing.clock, "frequency", 4)}, ${timing.cycle.which}`,
    ),
  );
  const rows = spans.map((each) => {
    const from = column(each.from);
    const bar = each.to - each.from < 5e-13 ? "·" : "█".repeat(Math.max(1, column(each.to) - from));
    return [
      `  ${each.what}${each.added ? " (added)" : ""}`,
      time(each.to - each.from),
      time(each.to),
      " ".repeat(Math.max(0, from)) + bar,
    ];
  });
  for (const line of columns(rows)) out.line(line);
  if (timing.strobe) {
    const { reached, at, margin: early } = timing.strobe;
    out.line(
      `  ${early < 0 ? "■" : "●"} the address is at the memory at ${time(reached)}, ${time(early)} before its row strobe at ${time(at)}`,
    );
  }
  const mark = margin < 0 ? "■" : "●";
  const rated = timing.rated === undefined ? "" : `; the CPU is rated for ${formatValue(timing.rated, "frequency", 4)}`;
  out.line(`  ${mark} ${time(margin)} left; it holds up to ${formatValue(fastest, "frequency", 4)}${rated}`);
  for (const change of timing.changes.slice(0, 4))
    out.line(
      `    ${change.what}: ${timing.strobe && change.early > 0 ? `${time(change.early)} before the row strobe and ` : ""}${time(change.gained)} gained, up to ${formatValue(change.fastest, "frequency", 4)}`,
    );
  out.line();
}

function printFitting(out: Output, bench: Bench, computer: Computer): void {
  const fittings = fittingsOf(computer);
  if (fittings.length === 0) return;
  for (const { title, sentence } of cautionsFor(bench).filter((each) => each.code !== "picture-tube"))
    for (const line of wrap(`Caution, ${title.toLowerCase()}: ${sentence}`, out.width)) out.line(line);
  out.line();
  for (const { board, bill, steps, undo, missing } of fittings) {
    table(out, `Parts of ${board}`, [
      ["count", "part", "", "place"],
      ...bill.map((row) => [
        String(row.count),
        row.part,
        row.title ?? "not in the catalogue",
        row.places.join(", ") + (row.sockets > 0 ? ` (${row.sockets} in sockets)` : ""),
      ]),
    ]);
    out.line(paint(out.colour, "bold", `Fitting ${board}`));
    for (const [index, step] of steps.entries())
      for (const [line, text] of wrap(step.text, out.width - 6).entries())
        out.line(`${line === 0 ? `  ${String(index + 1).padStart(2)}. ` : "      "}${text}`);
    out.line();
    out.line(paint(out.colour, "bold", "To make the machine what it was"));
    for (const [index, each] of undo.entries()) out.line(`  ${String(index + 1).padStart(2)}. ${each}`);
    out.line();
    if (missing.length > 0)
      for (const line of wrap(`Not described yet: ${missing.join(", ")}`, out.width)) out.line(line);
  }
}

export const verb: Verb = {
  usage: "[JOB]",
  help: [
    "Shows what the boards ask of the machine: current by rail with the regulator's heat, the ripple and what is lost on the",
    "way, load of the bus lines, time of each read as bars, and for every added board its parts, the order of work to fit it,",
    "and the way back. Values are the greatest of the data sheets.",
    "Exit code 1 where a read comes too late, or an address behind its row strobe.",
  ],
  options: { json: { type: "boolean", about: "print for machines" } },
  examples: [["rouse boards demo/mended", "supply, bus lines, reads, and how the translation board goes in"]],
  async run({ positionals, values }, out) {
    if (positionals.length > 1) throw new InputError("one-job", "Name one job folder.");
    const [name = "."] = positionals;
    const job = await openJob(name);
    const { bench, text, issues, report } = await checkJob(job);
    if (!bench) {
      process.stderr.write(`${printIssues(`${name}/${report.bench.file}`, text, issues)}\n`);
      return 2;
    }
    const { computer } = bench;
    if (!computer || computer.boards.length === 0)
      throw new InputError("no-boards", "This bench does not describe the computer's boards (computer.boards).");
    const loads = fanOuts(computer);
    const timings = busTimings(bench, await jobCatalogue(job));
    const known = timings.filter((each): each is BusTiming => !("missing" in each));
    const code = known.some((each) => each.margin < 0 || (each.strobe?.margin ?? 0) < 0) ? 1 : 0;
    const rails = railStates(computer);
    if (values.json) {
      const supply = rails.map(({ load, missing, ...rest }) => ({ ...rest, ...load, missing }));
      out.line(
        JSON.stringify(
          {
            format: "rouse-boards",
            version: 1,
            supply,
            lines: loads.map(({ driver, ...each }) => ({ ...each, driver: driver?.part ?? null })),
            reads: timings.map((each) => ({ ...each, path: each.path.name })),
            fitting: fittingsOf(computer),
          },
          null,
          2,
        ),
      );
      return code;
    }
    printSupply(out, rails);
    if (loads.length > 0) printFanOut(out, loads);
    for (const timing of timings)
      if ("missing" in timing) {
        out.line(`Read of ${timing.path.name}: not known; needed: ${timing.missing.join(", ")}`);
        out.line();
      } else printTiming(out, timing);
    printFitting(out, bench, computer);
    return code;
  },
};
