// node scripts/run.mjs checks/transfer/soak.ts [transfers each way] [one byte in so many harmed]: against lrzsz.
import { transfers } from "./reference.ts";

const count = Number(process.argv[2] ?? 500);
const one = Number(process.argv[3] ?? 2000);
const start = Date.now();
const outcomes = await transfers(count, one, 24, (each) => {
  if (each.result !== "whole")
    console.log(`${each.result}: ${each.protocol}, ${each.way}, seed ${each.seed}: ${each.detail}`);
});
for (const way of ["ours to theirs", "theirs to ours"] as const) {
  const these = outcomes.filter((each) => each.way === way);
  const results = ["whole", "told", "wrong"].map(
    (kind) => `${these.filter(({ result }) => result === kind).length} ${kind}`,
  );
  const retries = these.reduce((sum, each) => sum + each.retries, 0);
  const again = these.filter(({ attempts }) => attempts > 1).length;
  const spared = these.reduce((sum, each) => sum + each.spared, 0);
  console.log(
    `${way}: ${these.length} transfers, ${results.join(", ")}; ${again} needed another attempt; ${retries} retries of a block; ${spared} harmed blocks spared, which the sum of plain XMODEM would pass`,
  );
}
console.log(`${((Date.now() - start) / 1000).toFixed(0)} s`);
process.exit(outcomes.every(({ result }) => result === "whole") ? 0 : 1);
