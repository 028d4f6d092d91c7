import { setTimeout as wait } from "node:timers/promises";
import { visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import {
  type Capture,
  captionCues,
  chapterCues,
  followScript,
  framesOf,
  type Mark,
  offsetFrom,
  type Pace,
  PlainText,
  pacedTimes,
  piecesIn,
  readStretch,
  screenAt,
  screenSvg,
  sessionHtml,
  sessionText,
  writeVtt,
} from "@rouse/core/show";
import { readScript } from "@rouse/core/show/script";
import { type Ability, idealAbility } from "@rouse/core/terminal";
import { openRegular, readWhole, writeNew } from "../store/index.ts";
import { readCaptureFile } from "./capture-input.ts";
import { stdout } from "./stdout.ts";
import { TERMINAL_JOB, terminalNamed } from "./terminal-class.ts";
import type { Verb } from "./verb.ts";

const SCRIPT_LIMIT = 1 << 18;
const text = (value: unknown): string | undefined => (typeof value === "string" ? value : undefined);

function paceOf(values: Record<string, unknown>): Pace {
  const speed = Number(text(values.speed) ?? 1);
  if (!(speed > 0 && speed <= 1000))
    throw new InputError("bad-speed", `“${values.speed}” is not a speed; 1 is true, 4 four times as fast.`);
  const longest = text(values["longest-wait"]);
  return { speed, ...(longest === undefined ? {} : { longestWait: readStretch(longest) }) };
}

/** Seconds from the capture's clock to the camera's. */
function offsetOf(capture: Capture, values: Record<string, unknown>): number {
  const seen = text(values.seen);
  const marks: Mark[] = [
    ...(text(values.byte) === undefined ? [] : [{ byte: Number(values.byte) }]),
    ...(text(values.appears) === undefined ? [] : [{ appears: String(values.appears) }]),
    ...(values.clap === true ? ["clap" as const] : []),
  ];
  if (seen === undefined && marks.length === 0) return 0;
  if (seen === undefined || marks.length !== 1)
    throw new InputError("bad-mark", "--seen TIME goes with one of --byte, --appears and --clap, and they with it.");
  return offsetFrom(capture, marks[0]!, readStretch(seen));
}

async function chaptersOf(capture: Capture, script: string | undefined) {
  if (script === undefined) return chapterCues(capture);
  const handle = await openRegular(script);
  try {
    const read = readScript(new TextDecoder().decode(await readWhole(handle, script, SCRIPT_LIMIT)), visible(script));
    return chapterCues(capture, followScript(read, capture));
  } finally {
    await handle.close();
  }
}

/** Plays on this terminal: as its screen where there is one, else as plain text. No control function of the session passes. */
async function play(capture: Capture, ability: Ability, pace: Pace): Promise<void> {
  const begun = performance.now();
  const until = async (seconds: number) => {
    const left = seconds * 1000 - (performance.now() - begun);
    if (left > 0) await wait(left);
  };
  const write = (each: string) => stdout().write(each);
  if (!stdout().isTTY) {
    const pieces = piecesIn(capture);
    const plain = new PlainText(capture.head.frame);
    const times = pacedTimes(
      pieces.map((each) => each.t),
      pace,
    );
    let fresh = true;
    for (const [index, { bytes }] of pieces.entries()) {
      await until(times[index]!);
      for (const character of plain.take(bytes)) {
        if (character !== "\n" || !fresh) write(character === "\b" ? "" : character);
        fresh = character === "\n";
      }
    }
    if (!fresh) write("\n");
    return;
  }
  const frames = framesOf(capture, ability);
  const times = pacedTimes(
    frames.map((each) => each.t),
    pace,
  );
  write("\u001b[2J");
  const shown: string[] = Array.from({ length: ability.rows }, () => "");
  for (const [index, { up, rows, cursor }] of frames.entries()) {
    await until(times[index]!);
    shown.splice(0, up);
    while (shown.length < ability.rows) shown.push("");
    for (const [row, runs] of rows) shown[row] = runs.map(([each]) => each).join("");
    const drawn = up > 0 ? [...shown.keys()] : rows.map(([row]) => row);
    for (const row of drawn) write(`\u001b[${row + 1};1H${shown[row]}\u001b[K`);
    write(`\u001b[${cursor[0] + 1};${cursor[1] + 1}H`);
  }
  write(`\u001b[${ability.rows + 1};1H\n`);
}

export const verb: Verb = {
  usage: "CAPTURE",
  help: [
    "Shows a captured session again, at true speed, faster, or with long waits cut; or writes it as a page that plays it, as",
    "captions and chapters for a film, as a still, or as text. A file that is there is never written over.",
    "For a film, name one moment that both have: a byte, a text, or a note that speaks of a clap, and when the camera saw it.",
  ],
  options: {
    speed: { type: "string", value: "N", about: "times as fast; 1 unless said" },
    "longest-wait": { type: "string", value: "TIME", about: "waits are cut to this: 2 s" },
    terminal: {
      type: "string",
      value: "CLASS",
      about: "as this terminal of the catalogue; else 80 × 24, every function",
    },
    ...TERMINAL_JOB,
    html: { type: "string", value: "FILE", about: "write a self-contained page that plays it" },
    title: { type: "string", value: "TEXT", about: "title of the page or the still" },
    captions: { type: "string", value: "FILE", about: "write WebVTT captions of what was printed" },
    chapters: {
      type: "string",
      value: "FILE",
      about: "write WebVTT chapters: scenes of --script, else notes, else what was typed",
    },
    script: { type: "string", value: "FILE", about: "a script of the show, for the chapters" },
    seen: { type: "string", value: "TIME", about: "when the camera saw the moment: 1:23.5" },
    byte: { type: "string", value: "N", about: "the moment: byte N that came in, from 0" },
    appears: { type: "string", value: "TEXT", about: "the moment: this text is there for the first time" },
    clap: { type: "boolean", about: "the moment: the first note that speaks of a clap" },
    svg: { type: "string", value: "FILE", about: "write a still" },
    at: { type: "string", value: "TIME", about: "time of the still; the end unless said" },
    text: { type: "string", value: "FILE", about: "write everything that was to be read" },
  },
  examples: [
    ["rouse replay captures/open-day.jsonl --speed 4 --longest-wait 2s", "faster, with short waits"],
    ["rouse replay captures/open-day.jsonl --captions day.vtt --appears login: --seen 1:12.4", "captions for a film"],
  ],
  async run({ positionals, values }, out) {
    const [path, extra] = positionals;
    if (path === undefined || extra !== undefined) throw new InputError("one-capture", "Name one session capture.");
    const capture = await readCaptureFile(path);
    const name = text(values.terminal);
    const ability = name === undefined ? idealAbility() : await terminalNamed(name, values.job);
    const pace = paceOf(values);
    const title = text(values.title) ?? capture.head.about ?? "A session";
    const offset = offsetOf(capture, values);
    const at = text(values.at);
    const still = at === undefined ? Number.POSITIVE_INFINITY : readStretch(at);
    const makers: Record<string, () => string | Promise<string>> = {
      html: () => sessionHtml(capture, ability, { title, pace }),
      captions: () => writeVtt(captionCues(capture), offset),
      chapters: async () => writeVtt(await chaptersOf(capture, text(values.script)), offset),
      svg: () => screenSvg(screenAt(capture, ability, still), title),
      text: () => sessionText(capture, ability),
    };
    let written = false;
    for (const [option, make] of Object.entries(makers)) {
      const file = text(values[option]);
      if (file === undefined) continue;
      await writeNew(file, new TextEncoder().encode(await make()));
      out.line(`${visible(file)} is written.`);
      written = true;
    }
    const spoilt = capture.bad.length + (capture.torn === undefined ? 0 : 1);
    if (spoilt > 0) process.stderr.write(`rouse: ${spoilt} lines of the capture are no entries, and left out\n`);
    if (!written) await play(capture, ability, pace);
    return 0;
  },
};
