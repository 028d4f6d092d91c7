// The full counts: node scripts/run.mjs checks/cpu/soak.ts [millions]. A million instructions of each CPU against its
// reference; the tests run fewer. Prints what it found and ends with 1 where anything differs.
import { compare6502, TRIED } from "./compare6502.ts";
import { compare6809 } from "./compare6809.ts";
import { compareZ80, isComparable } from "./compareZ80.ts";
import { DOCUMENTED, isReturn, MOST_RECORDS, UNDOCUMENTED } from "./harnessZ80.ts";

const COUNT = Number(process.argv[2] ?? 1) * 1_000_000;
let failed = false;

function report(what: string, count: number, differences: readonly string[]): void {
  console.log(`${what}: ${count.toLocaleString("en")} instructions, ${differences.length} differences`);
  for (const each of differences.slice(0, 20)) console.log(`  ${each}`);
  if (differences.length > 0) failed = true;
}

const { ran, refused, differences } = compare6809(COUNT, 1);
report(`6809 and the plain model (${refused.toLocaleString("en")} undefined ones refused by both)`, ran, differences);

const each = Math.ceil(COUNT / TRIED.length);
report(
  "6502 and sim65",
  each * TRIED.length,
  TRIED.flatMap((tried, index) => compare6502(tried, each, 1000 + index)),
);

/** Returns are 4 of the documented kinds; every tenth batch is theirs, every fifth the undocumented ones'. */
const groups = [
  DOCUMENTED.filter((tried) => !isReturn(tried) && isComparable(tried)),
  DOCUMENTED.filter(isReturn),
  UNDOCUMENTED.filter(isComparable),
] as const;
const batches = Math.ceil(COUNT / MOST_RECORDS);
report(
  "Z80 and sz80",
  batches * MOST_RECORDS,
  Array.from({ length: batches }, (_, index) =>
    compareZ80(index % 10 === 9 ? groups[1] : index % 5 === 3 ? groups[2] : groups[0], MOST_RECORDS, 1000 + index),
  ).flat(),
);
process.exit(failed ? 1 : 0);
