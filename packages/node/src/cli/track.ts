import { loadCatalogue, type Recording } from "@rouse/core/catalogue";
import { InputError } from "@rouse/core/errors";
import { nearest } from "@rouse/core/errors/nearest";
import { formatNumber, formatQuantity, formatValue, type Quantity } from "@rouse/core/quantity";
import { precompensation, trackBudget, trackForm, trackMap } from "@rouse/core/recording";
import { checkJob } from "../job/index.ts";
import { openJob } from "../store/index.ts";
import { columns, paint } from "./text.ts";
import type { Verb } from "./verb.ts";

const FITS = { yes: "● fits", tight: "▲ tight", no: "■ cut short" } as const;

/** A track or side number from the command line. */
export function numberIn(wish: unknown, what: string, least: number, most: number): number {
  const value = wish === undefined ? least : Number(wish);
  if (!Number.isInteger(value) || value < least || value > most)
    throw new InputError("bad-number", `The ${what} should be ${least} to ${most}, not “${wish}”.`);
  return value;
}

export function recordingNamed(recordings: ReadonlyMap<string, Recording>, id: string): Recording {
  const found = recordings.get(id);
  if (found) return found;
  const close = nearest(id, recordings.keys());
  throw new InputError(
    "no-such-recording",
    `The catalogue has no recording “${id}”; ${close ? `did you mean “${close}”?` : "`rouse catalogue recordings` lists them."}`,
  );
}

/** The image's recording, and the rotation of the drive that the bench puts it in. */
async function fromJob(folder: string, name: string): Promise<{ recording: Recording; rotation?: Quantity }> {
  const { bench } = await checkJob(await openJob(folder));
  if (!bench) throw new InputError("bad-bench", "The bench file has errors; `rouse check` shows them.");
  const image = bench.images.find((each) => each.name === name);
  if (!image) throw new InputError("no-such-image", `There is no image “${name}” on this bench.`);
  if (!image.recording) throw new InputError("no-recording", `How ${name} is recorded is not said in the bench file.`);
  const rotation = image.drive?.rotation?.value;
  return { recording: image.recording, ...(rotation ? { rotation } : {}) };
}

export const verb: Verb = {
  usage: "RECORDING | JOB IMAGE",
  help: [
    "Lays a track out as it stands on the disk: every field in bytes and microseconds, and what is left before the",
    "index comes round again, at nominal speed and at both ends of the tolerances. With a job, the drive's own speed counts.",
  ],
  options: {
    track: { type: "string", value: "N", about: "track, by the number that the recording gives it" },
    side: { type: "string", value: "N", about: "side, 0 or 1" },
    fields: { type: "boolean", about: "list every field in its place along the circumference" },
    json: { type: "boolean", about: "print for machines" },
  },
  examples: [
    ["rouse track ecma-54", "the outermost track of an 8-inch single-density disk"],
    ["rouse track demo/mended tern --track 77", "the innermost track, in the demo's own drive"],
  ],
  async run({ positionals, values }, out) {
    const [first, image, extra] = positionals;
    if (first === undefined || extra !== undefined)
      throw new InputError("one-recording", "Name a recording, or a job and an image.");
    const { recording, rotation } =
      image === undefined
        ? { recording: recordingNamed(loadCatalogue().recordings, first) }
        : await fromJob(first, image);
    const { geometry } = recording;
    const track =
      numberIn(values.track, "track", geometry.firstTrack, geometry.firstTrack + geometry.tracks - 1) -
      geometry.firstTrack;
    const side = numberIn(values.side, "side", 0, geometry.sides - 1) as 0 | 1;
    const form = trackForm(recording, track, side);
    const budget = trackBudget(form, rotation ? { rotation } : {});
    const shift = precompensation(form);
    if (values.json) {
      out.line(
        JSON.stringify(
          {
            form,
            budget: { rows: budget.rows, content: budget.content, left: budget.left },
            precompensation: shift ?? null,
            fields: trackMap(form),
          },
          null,
          2,
        ),
      );
      return 0;
    }
    out.line(paint(out.colour, "bold", recording.title));
    out.line(
      `track ${track + geometry.firstTrack}, side ${side}: ${form.sectors} sectors of ${form.size} bytes in ${form.code}, cell ${formatValue(form.cellSeconds, "time", 4)}, turn ${formatValue(form.turnSeconds, "time", 5)}${rotation ? `, drive ${formatQuantity(rotation)}` : ""}`,
    );
    out.line();
    for (const line of columns([
      ["  field", "times", "bytes", "each", ""],
      ...budget.rows.map((row) => [
        `  ${row.kind}`,
        String(row.times),
        formatNumber(row.bytes, 6),
        formatValue(row.seconds, "time", 4),
        row.splice ?? "",
      ]),
    ]))
      out.line(line);
    out.line();
    for (const line of columns(
      budget.left.map((left) => [
        `  ${FITS[left.fits]}`,
        left.condition,
        `${formatNumber(left.bytesLeft, 5)} of ${formatNumber(left.bytesInTurn, 6)} bytes left`,
      ]),
    ))
      out.line(line);
    if (budget.assumed)
      out.line("  No tolerance of the drive's speed is given; ±2 % is taken (common practice, no source).");
    if (shift && track >= shift.fromTrack)
      out.line(
        `  Writers shift crowded transitions by ${formatValue(shift.seconds, "time")} from track ${shift.fromTrack + geometry.firstTrack} on (${shift.source.title}).`,
      );
    if (values.fields) {
      out.line();
      for (const field of trackMap(form))
        out.line(
          `  ${(field.from * 360).toFixed(2).padStart(7)}°  ${field.kind}${field.sector === undefined ? "" : `, sector ${field.sector}`}, ${formatValue(field.seconds, "time", 4)}`,
        );
    }
    return budget.left.some((left) => left.fits === "no" && left.speed === 0) ? 1 : 0;
  },
};
