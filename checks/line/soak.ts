import { tryOne } from "./settings.ts";

/**
 * node scripts/run.mjs checks/line/soak.ts [--count N]: infers N random settings (10,000 unless told) from 40 characters
 * at up to 3 % clock error, 2 % wrong bits and edges spread by 2 % of a bit; then prints the share of right first answers
 * against the number of characters. Exit code 1 where the 40 characters give less than 99.9 %.
 */

const at = process.argv.indexOf("--count");
const count = at < 0 ? 10_000 : Number(process.argv[at + 1]);
if (!Number.isSafeInteger(count) || count < 1) {
  console.error(`--count needs a whole number above 0, not “${process.argv[at + 1]}”.`);
  process.exit(2);
}

/** Share of right first answers over `tries` settings, seeds from `first` on. */
function share(characters: number, tries: number, first: number, wrongBits = 0.02) {
  let right = 0;
  let sure = 0;
  let worstRate = 0;
  const times: number[] = [];
  for (let index = 0; index < tries; index++) {
    const found = tryOne(first + index, characters, wrongBits);
    times.push(found.ms);
    sure += found.answers[0]?.probability ?? 0;
    if (found.right) {
      right++;
      worstRate = Math.max(worstRate, Math.abs(found.rateError));
    } else if (characters === 40) {
      const told = found.answers
        .slice(0, 2)
        .map(
          (each) =>
            `${each.standardRate ?? each.rate.toFixed(1)} ${each.frame}${each.inverted ? " inverted" : ""} ${(each.probability * 100).toFixed(1)} %`,
        );
      console.log(`  seed ${first + index}: ${JSON.stringify(found.setting)}: ${told.join("; ")}`);
    }
  }
  times.sort((a, b) => a - b);
  return { right: right / tries, sure: sure / tries, worstRate, median: times[tries >> 1]!, slowest: times.at(-1)! };
}

const percent = (value: number) => `${(value * 100).toFixed(2).padStart(6)} %`;
console.log(`${count} random settings, 40 characters each, 3 % clock error, 2 % wrong bits`);
const main = share(40, count, 1);
console.log(
  `right first answers ${percent(main.right)}; rate within ${percent(main.worstRate)} of what it was; ${main.median.toFixed(1)} ms, at most ${main.slowest.toFixed(0)} ms`,
);

console.log("\ncharacters  right first answer  mean probability given  right without wrong bits");
for (const characters of [1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 60]) {
  const tries = Math.min(count, 500);
  const noisy = share(characters, tries, 1_000_000);
  const clean = share(characters, tries, 2_000_000, 0);
  console.log(
    `${String(characters).padStart(10)}  ${percent(noisy.right).padStart(18)}  ${percent(noisy.sure).padStart(22)}  ${percent(clean.right).padStart(24)}`,
  );
}
if (main.right < 0.999) process.exit(1);
