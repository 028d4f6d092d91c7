import { readFile, stat } from "node:fs/promises";
import { visible } from "@rouse/core/bytes";
import { loadCatalogue, type Recording } from "@rouse/core/catalogue";
import { InputError } from "@rouse/core/errors";
import { formatNumber, formatValue } from "@rouse/core/quantity";
import {
  type Candidate,
  type CaptureOptions,
  identify,
  imageOfRecoveries,
  type Recovery,
  readCapture,
  recoverTrack,
} from "@rouse/core/recording";
import { writeWhole } from "../store/index.ts";
import { columns, paint } from "./text.ts";
import { recordingNamed } from "./track.ts";
import type { Output, Verb } from "./verb.ts";

/** A minute of a read line sampled finely; more is not one track. */
const LARGEST = 512 << 20;
const EDGES = ["auto", "falling", "rising", "both"] as const;
const BARS = " ▁▂▃▄▅▆▇█";

async function bytesOf(path: string): Promise<Uint8Array> {
  const found = await stat(path).catch(() => {
    throw new InputError("no-capture", `${visible(path)} does not exist.`);
  });
  if (!found.isFile() || found.size > LARGEST)
    throw new InputError("no-capture", `${visible(path)} is not a capture of at most 512 MiB.`);
  return new Uint8Array(await readFile(path));
}

/** A histogram as a row of bars, over the span that holds all but a thousandth of the counts. */
function bars(counts: ArrayLike<number>, columnsWide: number): string {
  const all = Array.from(counts);
  const total = all.reduce((sum, each) => sum + each, 0);
  let end = all.length;
  for (let tail = 0; end > 1 && tail + all[end - 1]! < total / 1000; end--) tail += all[end - 1]!;
  const wide = Array.from({ length: Math.min(columnsWide, end) }, (_, column) => {
    const from = Math.floor((column * end) / Math.min(columnsWide, end));
    const to = Math.max(from + 1, Math.floor(((column + 1) * end) / Math.min(columnsWide, end)));
    return Math.max(...all.slice(from, to));
  });
  const most = Math.max(1, ...wide);
  return wide.map((each) => BARS[each === 0 ? 0 : Math.max(1, Math.round(Math.sqrt(each / most) * 8))]).join("");
}

function printRecovery(out: Output, path: string, candidate: Candidate, recovery: Recovery): void {
  const { form, sectors } = recovery;
  const good = sectors.filter((each) => each.basis === "check").length;
  const voted = sectors.filter((each) => each.basis === "vote").length;
  out.line(paint(out.colour, "bold", `${visible(path)}: ${candidate.recording.title}`));
  out.line(`track ${form.trackNumber}, side ${form.side}; ${candidate.why}`);
  out.line(
    `cell ${formatValue(recovery.cellSeconds, "time", 4)}, ${formatNumber(candidate.speed * 100, 3)} % from nominal; ${good} of ${sectors.length} sectors by their check, ${voted} by vote`,
  );
  out.line(`intervals  ${bars(recovery.intervals.counts, out.width - 12)}`);
  for (const line of columns(
    sectors.map((sector) => [
      `  ${sector.basis === "check" ? "●" : sector.basis === "vote" ? "▲" : "■"} ${sector.sector}`,
      sector.basis,
      sector.rests,
    ]),
  ))
    out.line(line);
}

export const verb: Verb = {
  usage: "CAPTURE…",
  help: [
    "Recovers sectors from a drive's read line as a logic analyser sampled it: VCD (IEEE 1364) or CSV (seconds, level).",
    "Each capture is one track, any number of turns. The recording is found, or named; with --out the tracks make an image.",
  ],
  options: {
    recording: {
      type: "string",
      value: "ID",
      about: "the recording, where it is known (`rouse catalogue recordings`)",
    },
    read: { type: "string", value: "NAME", about: "signal or column of the read line" },
    index: { type: "string", value: "NAME", about: "signal or column of the index line" },
    edges: { type: "string", value: "WHICH", about: `which edges are transitions: ${EDGES.join(", ")}` },
    out: { type: "string", value: "IMAGE", about: "write an image of all tracks recovered" },
    json: { type: "boolean", about: "print for machines" },
  },
  examples: [["rouse recover track0.csv --recording ecma-54", "the sectors of one track, and what each rests on"]],
  async run({ positionals, values }, out) {
    if (positionals.length === 0) throw new InputError("no-capture", "Name at least one capture.");
    const edges = EDGES.find((each) => each === (values.edges ?? "auto"));
    if (!edges) throw new InputError("bad-edges", `Edges are ${EDGES.join(", ")}, not “${values.edges}”.`);
    const { recordings } = loadCatalogue();
    const wanted: readonly Recording[] =
      typeof values.recording === "string" ? [recordingNamed(recordings, values.recording)] : [...recordings.values()];
    const options: CaptureOptions = {
      edges,
      ...(typeof values.read === "string" ? { read: values.read } : {}),
      ...(typeof values.index === "string" ? { index: values.index } : {}),
    };
    const found: { path: string; candidate: Candidate; recovery: Recovery }[] = [];
    for (const path of positionals) {
      const capture = readCapture(await bytesOf(path), options);
      const [candidate] = identify(capture, wanted);
      if (!candidate)
        throw new InputError(
          "not-recognised",
          `${visible(path)} holds ${formatNumber(capture.transitions.length)} transitions in which no track of ${wanted.length === 1 ? wanted[0]!.title : "any recording known"} was found.`,
        );
      const recovery = recoverTrack(capture, candidate.form, { stretch: candidate.stretch });
      found.push({ path, candidate, recovery });
      if (!values.json) printRecovery(out, path, candidate, recovery);
    }
    if (values.json)
      out.line(
        JSON.stringify(
          found.map(({ path, candidate, recovery }) => ({
            path,
            recording: candidate.recording.id,
            track: candidate.form.track,
            side: candidate.form.side,
            score: candidate.score,
            speed: candidate.speed,
            sectors: recovery.sectors.map(({ data, ...rest }) => ({
              ...rest,
              hex: data ? Buffer.from(data).toString("hex") : null,
            })),
          })),
          null,
          2,
        ),
      );
    let lost = found.reduce(
      (sum, { recovery }) =>
        sum + recovery.sectors.filter((each) => each.basis !== "check" && each.basis !== "vote").length,
      0,
    );
    if (typeof values.out === "string") {
      const recording = found[0]!.candidate.recording;
      const { image, bad } = imageOfRecoveries(
        recording,
        found.filter((each) => each.candidate.recording === recording).map((each) => each.recovery),
      );
      await stat(values.out).then(
        () => {
          throw new InputError(
            "would-overwrite",
            `${visible(String(values.out))} is there already; nothing was written.`,
          );
        },
        () => {},
      );
      await writeWhole(values.out, image);
      lost = bad.length;
      if (!values.json)
        out.line(
          `${values.out}: ${formatNumber(image.length, 9)} bytes, ${formatNumber(bad.length)} blocks not recovered.`,
        );
    }
    return lost === 0 ? 0 : 1;
  },
};
