import { visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import { createTranslator } from "@rouse/core/terminal";
import { LineSession, RealPort, runBridge } from "../devices/line/index.ts";
import {
  clock,
  controlCode,
  LINE_OPTIONS,
  lineSettings,
  milliseconds,
  settingsText,
  stoppable,
  wholeNumber,
} from "./line-options.ts";
import { TERMINAL_CODE, TERMINAL_JOB, terminalCode, terminalNamed } from "./terminal-class.ts";
import type { Verb } from "./verb.ts";

/** An option of the terminal's end where it is given, else that of the computer's. */
const orElse = (own: unknown, other: unknown) => (own === undefined ? other : own);

export const verb: Verb = {
  usage: "COMPUTER-PORT TERMINAL-PORT --terminal CLASS",
  help: [
    "Sits between a computer and a terminal that is smaller than its programs expect, and makes it usable: re-encodes",
    "control functions, places the cursor by what the terminal has, folds case, reflows or pans wide lines, paces.",
    "CLASS is a terminal of the catalogue (`rouse catalogue terminals`). Runs until Ctrl-C.",
  ],
  options: {
    terminal: { type: "string", value: "CLASS", about: "what the terminal is able to do" },
    ...TERMINAL_JOB,
    ...TERMINAL_CODE,
    columns: {
      type: "string",
      value: "COUNT",
      about: "columns of the screen that programs are written for; 80 unless said",
    },
    rows: { type: "string", value: "COUNT", about: "its rows; 24 unless said" },
    wide: { type: "string", value: "HOW", about: "lines that are too wide: reflow (unless said) or pan" },
    "pan-key": {
      type: "string",
      value: "CHARACTER",
      about: "pressed with Ctrl, then u, d, l or r: moves the part shown; then f: it follows the cursor again",
    },
    unreachable: {
      type: "string",
      value: "HOW",
      about: "a terminal that cannot go up: follow the rows up to the cursor (unless said), or repaint all each time",
    },
    status: { type: "boolean", about: "a last row that tells which part is shown" },
    "lower-case": { type: "boolean", about: "letters of a terminal of capitals reach the computer as lower case" },
    character: { type: "string", value: "TIME", about: "pause of the terminal after each character" },
    line: { type: "string", value: "TIME", about: "pause of the terminal after each line" },
    ...LINE_OPTIONS,
    "terminal-rate": { type: "string", value: "RATE", about: "rate of the terminal's line, where it differs" },
    "terminal-frame": { type: "string", value: "FRAME", about: "frame of the terminal's line, where it differs" },
  },
  examples: [
    ["rouse bridge /dev/ttyUSB0 /dev/ttyUSB1 --terminal screen-40-small --wide pan --status", "80 columns on 40"],
  ],
  async run({ positionals, values }, out) {
    const [computer, screen, extra] = positionals;
    if (computer === undefined || screen === undefined || extra !== undefined)
      throw new InputError("two-ports", "Name two ports: rouse bridge COMPUTER-PORT TERMINAL-PORT --terminal CLASS.");
    if (typeof values.terminal !== "string")
      throw new InputError(
        "no-terminal",
        "Name the terminal: --terminal CLASS; `rouse catalogue terminals` lists them.",
      );
    const ability = await terminalNamed(values.terminal, values.job);
    const wide = values.wide ?? "reflow";
    if (wide !== "reflow" && wide !== "pan") throw new InputError("bad-wide", "--wide is reflow or pan.");
    const unreachable = values.unreachable ?? "follow";
    if (unreachable !== "follow" && unreachable !== "repaint")
      throw new InputError("bad-unreachable", "--unreachable is follow or repaint.");
    const panKey = typeof values["pan-key"] === "string" ? controlCode(values["pan-key"], "pan-key") : undefined;
    const here = lineSettings(values);
    const there = lineSettings({
      ...values,
      rate: orElse(values["terminal-rate"], values.rate),
      frame: orElse(values["terminal-frame"], values.frame),
    });
    const size = { columns: wholeNumber(values, "columns", 80), rows: wholeNumber(values, "rows", 24) };
    if (size.columns < 1 || size.rows < 1 || size.columns > 1000 || size.rows > 1000)
      throw new InputError("bad-size", "A screen has 1 to 1,000 columns and rows.");
    const characterTime = (there.frame.bits * 1000) / there.rate;
    const translator = createTranslator(size, ability, {
      wide,
      status: values.status === true,
      unreachable,
      code: terminalCode(values.code),
      ...(panKey === undefined ? {} : { panKey }),
      typed: values["lower-case"] ? "lower case" : "as typed",
      flow: there.flow === "characters" ? "characters" : "none",
      pace: {
        toTerminal: {
          perCharacter: characterTime + milliseconds(values, "character", 0),
          afterLine: milliseconds(values, "line", 0),
        },
        toHost: { perCharacter: (here.frame.bits * 1000) / here.rate },
      },
    });
    // Held and let go by the translator, which knows of both lines.
    const lines = [
      new LineSession(new RealPort(computer), here),
      new LineSession(new RealPort(screen), there.flow === "characters" ? { ...there, flow: "none" } : there),
    ] as const;
    try {
      for (const each of lines) await each.open();
      out.line(
        `${visible(computer)}: ${settingsText(here)}; ${visible(screen)}: ${settingsText(there)}, as ${visible(values.terminal)}.`,
      );
      out.line("Ctrl-C ends it.");
      await stoppable((signal) => runBridge(lines[0], lines[1], translator, { now: clock, signal }));
    } finally {
      for (const each of lines) await each.close();
    }
    return 0;
  },
};
