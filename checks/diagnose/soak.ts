/**
 * Proof by fault simulation on the demo benches, for as long as it takes: node scripts/run.mjs checks/diagnose/soak.ts
 *   [mended|second-machine] [cells of each class, 200] [lines, all] [seed, 1] [tests, march-c-,address,banks,latches,translation,retention]
 * Prints coverage by class beside what the literature proves, how often the dictionary names the right part first and among the
 * first three, every fault that is not named first, and how many reports the pruned simulation shares with plain runs.
 */
import { readFileSync } from "node:fs";
import { readBench } from "@rouse/core/bench";
import { loadCatalogue } from "@rouse/core/catalogue";
import { makeProgram, type ProofRow, prove, runPlainly } from "@rouse/core/diagnose";
import { memoryMapOf } from "@rouse/core/memory";

const [
  name = "mended",
  cells = "200",
  lines = "all",
  seed = "1",
  tests = "march-c-,address,banks,latches,translation,retention",
] = process.argv.slice(2);
/** One fault of this many is run plainly too. */
const COMPARED = 97;

const { bench, issues } = readBench(readFileSync(`demo/${name}/bench.yaml`, "utf8"), loadCatalogue());
if (!bench) throw new Error(issues.map((each) => each.sentence).join("; "));
const map = memoryMapOf(bench)!;
const program = makeProgram(bench, { tests: tests.split(","), over: ["main", "banks"], seconds: 0.3 });
const good = runPlainly(map, program, undefined, 2 ** 32);
if (!good.report.endsWith("END GOOD\r\n")) throw new Error(good.report);

const proof = prove(bench, program, {
  cells: Number(cells),
  lines: lines === "all" ? Number.POSITIVE_INFINITY : Number(lines),
  seed: Number(seed),
});
let compared = 0;
let step = proof.next();
for (; !step.done; step = proof.next()) {
  const { done, of, fault, place, report } = step.value;
  if (place !== 0)
    console.log(
      `  ${place < 0 ? (report === good.report ? "silent" : "unnamed") : `place ${place + 1}`}: ${fault.title}`,
    );
  if (done % COMPARED === 0 && fault.fault.on === "cells") {
    const plain = runPlainly(map, program, fault.fault, 2 ** 32);
    if (plain.report !== report) throw new Error(`another report in a plain run: ${fault.title}`);
    compared++;
  }
  if (done % 100 === 0) console.log(`${done} of ${of}`);
}
const rows = step.value;
const percent = (some: number, all: number) => `${((100 * some) / Math.max(1, all)).toFixed(1)} %`;
console.log(
  `\n${"".padEnd(24)}${["faults", "found", "literature", "named first", "in three"].map((each) => each.padStart(12)).join("")}`,
);
const line = ({ title, faults, found, first, inThree, claim }: Omit<ProofRow, "group">) =>
  console.log(
    `${title.padEnd(24)}${[
      String(faults),
      percent(found, faults),
      claim ?? "",
      percent(first, faults),
      percent(inThree, faults),
    ]
      .map((each) => each.padStart(12))
      .join("")}`,
  );
for (const row of rows) line(row);
const sum = (key: "faults" | "found" | "first" | "inThree") => rows.reduce((total, row) => total + row[key], 0);
line({ title: "all", faults: sum("faults"), found: sum("found"), first: sum("first"), inThree: sum("inThree") });
console.log(
  `\nOf those found: named first ${percent(sum("first"), sum("found"))}, in three ${percent(sum("inThree"), sum("found"))}.`,
);
console.log(`${compared} reports are those of plain runs.`);
