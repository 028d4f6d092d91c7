// Prints how many sectors come back from a simulated read signal, by jitter, speed, drift, dropped and extra transitions:
// node scripts/run.mjs checks/recording/table.ts [recording] [track]
import { loadCatalogue } from "@rouse/core/catalogue";
import { encodeTrack, recoverTrack, trackForm } from "@rouse/core/recording";
import { Random, type ReadFaults, simulateRead } from "@rouse/core/recording/kit";

const SEEDS = [1, 2, 3, 4];
const TURNS = [1, 3, 10];
const [id = "ecma-100", track = "40"] = process.argv.slice(2);
const recording = loadCatalogue().recordings.get(id);
if (!recording) throw new Error(`There is no recording “${id}”.`);
const form = trackForm(recording, Number(track), 0);
const data = new Random(99).bytes(form.sectors * form.size);
const cells = encodeTrack(form, data);

/** Share of the sectors whose bytes came back as they were, over all seeds. */
function share(faults: ReadFaults, decoder: "loop" | "fixed window"): number {
  let right = 0;
  for (const seed of SEEDS) {
    const { sectors } = recoverTrack(simulateRead(cells, form.cellSeconds, { ...faults, seed }), form, { decoder });
    sectors.forEach((sector, k) => {
      const wanted = data.subarray(k * form.size, (k + 1) * form.size);
      if ((sector.basis === "check" || sector.basis === "vote") && sector.data?.every((byte, i) => byte === wanted[i]))
        right++;
    });
  }
  return right / (SEEDS.length * form.sectors);
}

const percent = (value: number): string => `${(100 * value).toFixed(0)}`.padStart(4);

function rows(title: string, cases: readonly [string, ReadFaults][]): void {
  console.log(
    `\n${title.padEnd(42)}| loop: ${TURNS.map((n) => `${n}`.padStart(4)).join("")} turns | fixed window: ${TURNS.map((n) => `${n}`.padStart(4)).join("")} turns`,
  );
  for (const [name, faults] of cases) {
    const of = (decoder: "loop" | "fixed window") =>
      TURNS.map((turns) => percent(share({ ...faults, turns }, decoder))).join("");
    console.log(`${name.padEnd(42)}|       ${of("loop")}       |               ${of("fixed window")}`);
  }
}

console.log(
  `${recording.title}\ntrack ${track}, side 0; cell ${(form.cellSeconds * 1e6).toFixed(3)} µs; ${SEEDS.length} seeds; figures are % of sectors with the right bytes`,
);
rows(
  "jitter, rms as % of the cell",
  [0, 4, 8, 10, 12, 14, 16, 18, 20].map((jitter) => [`${jitter} %`, { jitter: jitter / 100 }]),
);
rows(
  "speed off nominal, 8 % jitter",
  [-6, -3, -1, 0, 1, 3, 6].map((speed) => [`${speed > 0 ? "+" : ""}${speed} %`, { jitter: 0.08, speed: speed / 100 }]),
);
rows(
  "drift within a turn, 8 % jitter",
  [0.5, 1, 2, 4, 6].map((drift) => [`± ${drift} %`, { jitter: 0.08, drift: drift / 100 }]),
);
rows(
  "dropped transitions, 4 % jitter",
  [1e-5, 1e-4, 3e-4, 1e-3, 3e-3].map((dropped) => [`${dropped * 1e6} in a million`, { jitter: 0.04, dropped }]),
);
rows(
  "extra transitions, 4 % jitter",
  [1e-5, 1e-4, 3e-4, 1e-3, 3e-3].map((extra) => [`${extra * 1e6} in a million`, { jitter: 0.04, extra }]),
);
rows("all together", [
  ["8 %, +3 %, ± 1 %, 30 and 30 in a million", { jitter: 0.08, speed: 0.03, drift: 0.01, dropped: 3e-5, extra: 3e-5 }],
  ["12 %, −3 %, ± 2 %, 100 and 100", { jitter: 0.12, speed: -0.03, drift: 0.02, dropped: 1e-4, extra: 1e-4 }],
]);
