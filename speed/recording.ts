import { loadCatalogue } from "@rouse/core/catalogue";
import { mapBlocks } from "@rouse/core/geometry";
import { decodeDisk, encodeDisk, encodeTrack, recoverTrack, trackForm } from "@rouse/core/recording";
import { Random, simulateRead } from "@rouse/core/recording/kit";
import { atMost, type Measured, medianCpuMs } from "./types.ts";

const RUNS = 11;

/** Plain reference for encoding and decoding: MFM one bit at a time, by the rule as it is written, a byte for each cell. */
function plainRoundTrip(image: Uint8Array): number {
  const cells = new Uint8Array(image.length * 16);
  let last = 0;
  let at = 0;
  for (const byte of image)
    for (let bit = 7; bit >= 0; bit--) {
      const now = (byte >> bit) & 1;
      cells[at++] = last === 0 && now === 0 ? 1 : 0;
      cells[at++] = now;
      last = now;
    }
  let sum = 0;
  for (let from = 1; from < cells.length; from += 16) {
    let byte = 0;
    for (let bit = 0; bit < 8; bit++) byte = (byte << 1) | cells[from + 2 * bit]!;
    sum += byte;
  }
  return sum;
}

/** Plain reference for recovery: each interval to the nearest number of cells, the cells as one text. */
function plainIntervals(times: Float64Array, cell: number): number {
  let text = "";
  for (let i = 1; i < times.length; i++)
    text += `${"0".repeat(Math.max(0, Math.round((times[i]! - times[i - 1]!) / cell) - 1))}1`;
  return text.split("0100010010001001").length;
}

export async function run(): Promise<readonly Measured[]> {
  const measured: Measured[] = [];
  const { recordings } = loadCatalogue();
  for (const [id, what] of [
    ["ecma-125", "3.5-inch high density, 1.47 MB"],
    ["zoned-77-two-side", "zoned group code, 1.07 MB"],
  ] as const) {
    const recording = recordings.get(id)!;
    const image = new Random(1).bytes(mapBlocks(recording.geometry).bytes);
    const round = () => {
      if (decodeDisk(recording, encodeDisk(recording, image)).bad.length > 0)
        throw new Error(`${id} didn't come back whole`);
    };
    const plain = () => {
      plainRoundTrip(image);
    };
    medianCpuMs(3, round);
    medianCpuMs(1, plain);
    const [ms, plainMs] = [medianCpuMs(RUNS, round), medianCpuMs(3, plain)];
    measured.push(
      atMost(`encode and decode a two-sided disk, ${what}`, ms, 150, "ms of processor time"),
      atMost("the same over a bit-at-a-time reference without fields", ms / plainMs, 1),
    );
  }

  for (const [id, track] of [
    ["ecma-125", 40],
    ["ecma-100", 40],
    ["zoned-35", 0],
  ] as const) {
    const form = trackForm(recordings.get(id)!, track, 0);
    const cells = encodeTrack(form, new Random(2).bytes(form.sectors * form.size));
    const capture = simulateRead(cells, form.cellSeconds, { jitter: 0.05, speed: 0.01, drift: 0.005 });
    const recover = () => {
      if (recoverTrack(capture, form).sectors.some(({ basis }) => basis !== "check"))
        throw new Error(`${id} was not recovered`);
    };
    const plain = () => {
      plainIntervals(capture.transitions, form.cellSeconds);
    };
    medianCpuMs(10, recover);
    medianCpuMs(3, plain);
    const ms = medianCpuMs(4 * RUNS, recover);
    const turn = form.turnSeconds * 1e3;
    measured.push(
      atMost(
        `recover one turn of ${id} (${turn.toFixed(0)} ms, ${capture.transitions.length} transitions)`,
        ms,
        20,
        "ms of processor time",
      ),
      atMost("the same over the time that the disk takes to turn", ms / turn, 0.1),
      atMost("the same over plain intervals as text", ms / medianCpuMs(RUNS, plain), 3),
    );
  }
  return measured;
}
