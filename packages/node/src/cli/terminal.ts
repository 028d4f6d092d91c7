import { visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import { formatNumber } from "@rouse/core/quantity";
import { capturedBytes, readCapture } from "@rouse/core/show";
import { type Ability, captureReport, framed, idealAbility, sideBySide } from "@rouse/core/terminal";
import { openRegular, readWhole } from "../store/index.ts";
import { CAPTURE_LIMIT } from "./capture-input.ts";
import { wholeNumber } from "./line-options.ts";
import { stdout, stdoutIsScreen } from "./stdout.ts";
import { TERMINAL_CODE, TERMINAL_JOB, terminalCode, terminalNamed } from "./terminal-class.ts";
import { columns, paint, wrap } from "./text.ts";
import type { Output, Verb } from "./verb.ts";

const CAPTURE_START = '{"format":"rouse-capture"';

/** What came over the line: the incoming bytes of a session capture, or a file of the bytes themselves. */
async function cameOver(path: string): Promise<Uint8Array> {
  const handle = await openRegular(path);
  try {
    const bytes = await readWhole(handle, path, CAPTURE_LIMIT);
    const isCapture = new TextDecoder("latin1").decode(bytes.subarray(0, CAPTURE_START.length)) === CAPTURE_START;
    return isCapture ? capturedBytes(readCapture(bytes), "in").bytes : bytes;
  } finally {
    await handle.close();
  }
}

type Report = ReturnType<typeof captureReport>;

function printFunctions(out: Output, { functions, inventory }: Report, named: boolean): void {
  out.line(
    `${formatNumber(inventory.characters)} characters, ${formatNumber(functions.length)} kinds of control function`,
  );
  const rows = functions.map((each) => [
    `  ${each.name}`,
    each.title,
    each.kind,
    `×${formatNumber(each.times)}`,
    `first at ${formatNumber(each.at[0] ?? 0)}`,
    named ? each.treatment : "",
  ]);
  for (const line of columns(rows)) out.line(line.trimEnd());
  const { faults, unfinished } = inventory;
  if (faults.times > 0)
    out.line(`  not by the standard's grammar: ×${formatNumber(faults.times)}, at ${faults.at.join(", ")}`);
  if (unfinished !== undefined) out.line(`  the function at ${formatNumber(unfinished)} does not end`);
}

function printScreens(out: Output, report: Report, size: { columns: number }, name: string, ability: Ability): void {
  const ideal = { title: "as the program means it", columns: size.columns, lines: report.ideal };
  const here = { title: `on ${visible(name)}`, columns: ability.columns, lines: report.here };
  const both = size.columns + ability.columns + 7;
  out.line();
  // On a terminal too narrow for both, one above the other.
  if (stdoutIsScreen() && both > stdout().columns) for (const each of [ideal, here]) out.line(framed(each));
  else out.line(sideBySide(ideal, here));
}

export const verb: Verb = {
  usage: "CAPTURE [--terminal CLASS]",
  help: [
    "Names, counts and places the control functions of a session (ECMA-48). With --terminal, says which of them that",
    "terminal lacks and what the audience will see, and shows its screen beside the one that the program means.",
    "CAPTURE is a session capture, or a file of the bytes as they came. CLASS is a terminal of the catalogue.",
  ],
  options: {
    terminal: { type: "string", value: "CLASS", about: "what the terminal is able to do" },
    ...TERMINAL_JOB,
    ...TERMINAL_CODE,
    columns: { type: "string", value: "COUNT", about: "columns of the screen that it was written for; 80 unless said" },
    rows: { type: "string", value: "COUNT", about: "its rows; 24 unless said" },
    json: { type: "boolean", about: "print everything for machines" },
  },
  examples: [
    ["rouse terminal captures/open-day.jsonl", "which control functions a session uses"],
    ["rouse terminal captures/open-day.jsonl --terminal screen-40-small", "what is seen of it on 40 columns"],
    [
      'rouse terminal captures/open-day.jsonl --job demo/mended --terminal "stage terminal"',
      "on the terminal of that bench",
    ],
  ],
  async run({ positionals, values }, out) {
    const [path, extra] = positionals;
    if (path === undefined || extra !== undefined)
      throw new InputError("one-capture", "Name one capture: rouse terminal CAPTURE --terminal CLASS.");
    const size = { columns: wholeNumber(values, "columns", 80), rows: wholeNumber(values, "rows", 24) };
    if (size.columns < 1 || size.rows < 1 || size.columns > 1000 || size.rows > 1000)
      throw new InputError("bad-size", "A screen has 1 to 1,000 columns and rows.");
    const name = typeof values.terminal === "string" ? values.terminal : undefined;
    const ability = name === undefined ? idealAbility(size.columns, size.rows) : await terminalNamed(name, values.job);
    const report = captureReport(await cameOver(path), ability, { ideal: size, code: terminalCode(values.code) });
    if (values.json) {
      const { inventory, functions, lacking, audience, wide, ideal, here } = report;
      const { functions: _told, ...counts } = inventory;
      const seen = name === undefined ? {} : { terminal: name, lacking, audience, wide, here };
      const told = functions.map(({ treatment, ...each }) => (name === undefined ? each : { ...each, treatment }));
      out.line(
        JSON.stringify({ format: "rouse-functions", version: 1, ...counts, functions: told, ideal, ...seen }, null, 2),
      );
      return 0;
    }
    printFunctions(out, report, name !== undefined);
    if (name === undefined) return 0;
    out.line();
    out.line(paint(out.colour, "bold", `What the audience sees on ${visible(name)}:`));
    const told = report.audience.length > 0 ? report.audience : ["What the program means."];
    for (const each of told) for (const line of wrap(each, out.width, "  ")) out.line(line);
    printScreens(out, report, size, name, ability);
    return 0;
  },
};
