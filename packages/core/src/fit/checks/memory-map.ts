import type { BenchRegion } from "../../bench/index.ts";
import { address } from "../../bytes/index.ts";
import { formatValue } from "../../quantity/index.ts";
import { benchFigure, type Check, type Outcome, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

const SPACE = 0x1_0000;
const range = (from: number, to: number) => `${address(from)}–${address(to)}`;

/** Stretches of the 64 KiB that two regions both answer, and those that none answers. */
function clashesAndHoles(regions: readonly BenchRegion[]) {
  const clashes: { from: number; to: number; names: [string, string] }[] = [];
  const open = regions.filter((each) => !each.under);
  for (const [index, one] of open.entries())
    for (const other of open.slice(index + 1)) {
      const from = Math.max(one.from, other.from);
      const to = Math.min(one.to, other.to);
      if (from <= to) clashes.push({ from, to, names: [one.name, other.name] });
    }
  const holes: { from: number; to: number }[] = [];
  let next = 0;
  for (const region of [...regions].sort((a, b) => a.from - b.from)) {
    if (region.from > next) holes.push({ from: next, to: region.from - 1 });
    next = Math.max(next, region.to + 1);
  }
  if (next < SPACE) holes.push({ from: next, to: SPACE - 1 });
  return { clashes, holes };
}

export const memoryMap: Check = {
  id: "memory-map",
  link: "memory",
  title: "The memory map",
  about:
    "A 16-bit address sees 64 KiB, $0000 to $FFFF. Two regions that answer one address drive the data bus against each other; a stretch that nothing answers reads as whatever the bus was left at.",
  formula: "banks × window + main memory = memory fitted; 64 KiB − Σ regions = holes",
  sources: [RULES.arithmetic],
  run({ bench }) {
    const regions = bench.computer?.regions ?? [];
    if (regions.length === 0) return [];
    const { clashes, holes } = clashesAndHoles(regions);
    const ram = regions.filter((each) => each.kind === "ram").reduce((sum, each) => sum + each.to - each.from + 1, 0);
    const banked = regions
      .filter((each) => each.kind === "window")
      .reduce((sum, each) => sum + (each.to - each.from + 1) * (each.banks ?? 0), 0);
    const figures = [
      ...regions.map((each) =>
        benchFigure(
          each.name,
          `${range(each.from, each.to)} ${each.kind}${each.banks ? `, ${each.banks} banks of ${formatValue(each.to - each.from + 1, "memory")}` : ""}`,
          each.path,
        ),
      ),
      worked("main memory", formatValue(ram, "memory")),
      worked("behind windows", formatValue(banked, "memory")),
      worked("memory fitted", formatValue(ram + banked, "memory")),
    ];
    const shared = { figures, at: "computer.memory", result: `${formatValue(ram + banked, "memory")} of memory` };
    if (clashes.length > 0) {
      const [first] = clashes;
      return [
        {
          ...shared,
          verdict: "stops",
          sentence: `${first!.names.join(" and ")} both answer ${range(first!.from, first!.to)}${clashes.length > 1 ? `, and ${clashes.length - 1} more pairs clash` : ""}.`,
          remedy: "Move one of them, or say “under: true” where one lies under the other and is switched off.",
        },
      ];
    }
    const big = holes.filter((each) => each.to - each.from + 1 >= 256);
    const outcome: Outcome = {
      ...shared,
      verdict: "runs",
      sentence:
        big.length > 0
          ? `No two regions clash; nothing answers ${big.map((each) => range(each.from, each.to)).join(", ")}. ${formatValue(ram + banked, "memory")} of memory are fitted.`
          : `No two regions clash and nothing is left open; ${formatValue(ram + banked, "memory")} of memory are fitted.`,
    };
    return [outcome];
  },
};
