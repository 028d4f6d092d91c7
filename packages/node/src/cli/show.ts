import { type Bench, printIssues } from "@rouse/core/bench";
import { visible } from "@rouse/core/bytes";
import { InputError } from "@rouse/core/errors";
import { formatDuration } from "@rouse/core/quantity";
import {
  type Capture,
  captureHead,
  captureLine,
  followScript,
  type PlannedShow,
  planShow,
  printClock,
  printStretch,
  readClock,
  type Script,
} from "@rouse/core/show";
import { PHASES, type RehearsedShow, rehearseShow, waitsOf } from "@rouse/core/show/rehearsed";
import { readScript } from "@rouse/core/show/script";
import { checkJob } from "../job/index.ts";
import { jobRehearsal } from "../job/rehearsal.ts";
import { type Job, openInside, openJob, readWhole, writeNew } from "../store/index.ts";
import { readCaptureFile } from "./capture-input.ts";
import { paint, wrap } from "./text.ts";
import type { Output, Verb } from "./verb.ts";

const SCRIPT_LIMIT = 1 << 18;
/** What a capture says of a line whose bench does not. */
const UNSAID = { rate: 9600, frame: "8N1" };
/** Words of several lines, with nothing that could act on a terminal. */
const shown = (words: string): string => visible(words.replaceAll(/\s+/g, " ").trim());
const around = (low: number, high: number): string =>
  formatDuration(low) === formatDuration(high) ? "" : ` (${formatDuration(low)} to ${formatDuration(high)})`;

function printScenes(out: Output, show: PlannedShow): void {
  out.line(paint(out.colour, "bold", visible(show.title)));
  for (const { scene, start, wait, modelled, speech, silence, known, missing } of show.scenes) {
    out.line();
    out.line(`${printStretch(start).padStart(7)}  ${paint(out.colour, "bold", visible(scene.name))}`);
    const say = (label: string, text: string) => {
      for (const line of wrap(`${label}${text}`, out.width, "         ")) out.line(line);
    };
    if (scene.do) say("do: ", shown(scene.do));
    if (scene.type !== undefined) say("type: ", `${visible(scene.type)} ⏎`);
    if (wait.high > 0 || !known)
      say("wait: ", `${known ? "" : "at least "}${formatDuration(wait.usual)}${around(wait.low, wait.high)}`);
    if (!known) say("needed: ", missing.join(", "));
    if (modelled && scene.wait) say("", `rehearsed; by the timing model ${formatDuration(modelled.usual)}`);
    if (scene.expect !== undefined) say("expect: ", `“${visible(scene.expect)}”`);
    if (scene.say !== undefined) say(`say, ${formatDuration(speech)}: `, shown(scene.say));
    if (silence >= 1) say("▲ ", `up to ${formatDuration(silence)} more to talk through`);
  }
  out.line();
  out.line(
    `It lasts ${show.known ? "" : "at least "}${printStretch(show.length.usual)} (${printStretch(show.length.low)} to ${printStretch(show.length.high)}).`,
  );
}

/** The script on the machine of the job, once for each place at which the disk may stand. */
async function rehearsals(job: Job, bench: Bench, script: Script): Promise<RehearsedShow[]> {
  const terminal = bench.show?.terminal ?? bench.terminals[0];
  const head = {
    started: new Date().toISOString(),
    port: "rehearsal",
    rate: terminal?.rate?.value ?? UNSAID.rate,
    frame: terminal?.format ?? UNSAID.frame,
    about: `${script.title}, rehearsed`,
  };
  const shows: RehearsedShow[] = [];
  for (const phase of PHASES)
    shows.push(rehearseShow(script, await jobRehearsal(job, bench, { phase, typing: script.typing }), head));
  return shows;
}

const captureText = ({ head, entries }: Capture): string => captureHead(head) + entries.map(captureLine).join("");

export const verb: Verb = {
  usage: "[JOB]",
  help: [
    "Reads the script of the show, show.yaml in the job folder, and says how long each wait is by simulation, how much talk is",
    "missing there, how long it all lasts, and when to start at the latest. With --capture, how a session kept to the script.",
    "With --rehearse, the script is played on the rehearsed machine, and its waits stand in place of those of the timing model.",
    "Exit code 1: something that was expected never came.",
  ],
  options: {
    script: { type: "string", value: "PATH", about: "another script in the job folder" },
    ends: { type: "string", value: "15:30", about: "time of day at which it must be over; else that of the script" },
    rehearse: { type: "boolean", about: "play the script on the rehearsed machine, and take the waits from there" },
    keep: { type: "string", value: "FILE", about: "keep the rehearsed session as a capture; goes with --rehearse" },
    capture: { type: "string", value: "FILE", about: "compare a captured session with the script" },
    json: { type: "boolean", about: "print everything for machines" },
  },
  examples: [
    ["rouse show demo/mended", "the open day of the demo"],
    [
      "rouse show demo/mended --rehearse --keep /tmp/rehearsed.jsonl",
      "the same, played once before, and kept to be replayed",
    ],
    ["rouse show demo/mended --ends 16:00", "the latest moment to start for another end"],
  ],
  async run({ positionals, values }, out) {
    if (positionals.length > 1) throw new InputError("one-job", "Name one job folder.");
    const job = await openJob(positionals[0] ?? ".");
    const path = typeof values.script === "string" ? values.script : "show.yaml";
    const handle = await openInside(job.folder, path);
    let written: string;
    try {
      written = new TextDecoder().decode(await readWhole(handle, path, SCRIPT_LIMIT));
    } finally {
      await handle.close();
    }
    const read = readScript(written, path);
    const script = typeof values.ends === "string" ? { ...read, ends: readClock(values.ends) } : read;
    const { text, issues, bench, images, report } = await checkJob(job);
    if (!bench || issues.length > 0) {
      process.stderr.write(`${printIssues(`${positionals[0] ?? "."}/${report.bench.file}`, text, issues)}\n`);
      return 2;
    }
    const name = (bench.show?.image ?? bench.images[0])?.name;
    const keep = typeof values.keep === "string" ? values.keep : undefined;
    if (keep !== undefined && values.rehearse !== true)
      throw new InputError("keep-what", "--keep FILE goes with --rehearse: it keeps the rehearsed session.");
    if (values.rehearse === true && values.capture !== undefined)
      throw new InputError("one-session", "One session at a time: --rehearse or --capture.");
    const rehearsed = values.rehearse === true ? await rehearsals(job, bench, script) : [];
    if (keep !== undefined) await writeNew(keep, new TextEncoder().encode(captureText(rehearsed[0]!.capture)));
    const show = planShow(
      script,
      bench,
      images.find((each) => each.name === name && each.volume !== undefined),
      waitsOf(rehearsed),
    );
    const followed =
      typeof values.capture === "string"
        ? followScript(script, await readCaptureFile(values.capture))
        : rehearsed[0]?.scenes;
    const lost = followed?.some((each) => each.scene.expect !== undefined && each.seen === undefined) ?? false;
    if (values.json) {
      out.line(JSON.stringify({ format: "rouse-show", version: 1, show, followed: followed ?? null }, null, 2));
      return lost ? 1 : 0;
    }
    printScenes(out, show);
    if (show.latest) {
      const { clock, daysBefore } = show.latest;
      const day = daysBefore > 0 ? `, ${daysBefore === 1 ? "the day" : `${daysBefore} days`} before` : "";
      const spare = script.spare > 0 ? ` with ${formatDuration(script.spare)} to spare` : "";
      const line = `Start at ${clock}${day} at the latest, to end by ${printClock(script.ends!).clock}${spare}.`;
      out.line(paint(out.colour, "bold", line));
      if (!show.known) out.line(`○ That is without what is not known: ${show.missing.join(", ")}.`);
    }
    if (script.credits.length > 0) {
      out.line();
      out.line("Credits:");
      for (const each of script.credits) for (const line of wrap(visible(each), out.width, "  ")) out.line(line);
    }
    if (followed) {
      out.line();
      out.line(`The ${rehearsed.length > 0 ? "rehearsal" : "session"} against the script:`);
      for (const [index, { scene, from, seen, wait }] of followed.entries()) {
        const { wait: planned, modelled } = show.scenes[index]!;
        const predicted = (modelled ?? planned).usual;
        const how =
          scene.expect === undefined
            ? "nothing expected"
            : wait === undefined
              ? `“${visible(scene.expect)}” never came`
              : `waited ${formatDuration(wait)}, predicted ${formatDuration(predicted)}`;
        const mark = scene.expect !== undefined && seen === undefined ? "■" : "●";
        out.line(`  ${mark} ${printStretch(from).padStart(7)}  ${visible(scene.name)}: ${how}`);
      }
    }
    return lost ? 1 : 0;
  },
};
