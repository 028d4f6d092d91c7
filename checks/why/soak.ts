import { compare, type Summary, type Way } from "./simulate.ts";

/**
 * node scripts/run.mjs checks/why/soak.ts [--count N]: N random single faults (1,000 unless told) in the demo benches, looked
 * for by what is proposed and down a fixed checklist. Exit code 1 where the median is above 6 tests.
 */

const at = process.argv.indexOf("--count");
const count = at < 0 ? 1000 : Number(process.argv[at + 1]);
if (!Number.isSafeInteger(count) || count < 1) {
  console.error(`--count needs a whole number above 0, not “${process.argv[at + 1]}”.`);
  process.exit(2);
}

const JOBS = ["mended", "second-machine"] as const;
const NAMES: Readonly<Record<Way, string>> = {
  proposed: "proposed by rouse why",
  "useful checklist": "checklist without useless tests",
  checklist: "fixed checklist",
};
const row = (name: string, { median, ninth, mean, minutes, right, ended }: Summary): string =>
  [
    name.padEnd(34),
    String(median).padStart(6),
    mean.toFixed(1).padStart(6),
    String(ninth).padStart(11),
    minutes.toFixed(0).padStart(8),
    `${(ended * 100).toFixed(1)} %`.padStart(9),
    `${(right * 100).toFixed(1)} %`.padStart(9),
  ].join(" ");

console.log(`${count} single faults in ${JOBS.join(" and ")}; tests after what the screen shows`);
console.log(`${"".padEnd(34)} median   mean 9 in 10 by  minutes     found     right`);
let worst = 0;
for (const [words, spread] of [
  ["as the model says", 0],
  ["answers off by e^±0.5, any part", 0.5],
  ["answers off by e^±1, any part", 1],
] as const) {
  const found = compare(JOBS, count, spread, 7);
  console.log(words);
  for (const [way, told] of found) console.log(row(`  ${NAMES[way]}`, told));
  if (spread === 0) worst = found.get("proposed")!.median;
}
process.exit(worst <= 6 ? 0 : 1);
