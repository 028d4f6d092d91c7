import type { BenchComputer } from "../../bench/index.ts";
import { address } from "../../bytes/index.ts";
import { formatValue } from "../../quantity/index.ts";
import { type Check, imageFigure, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

/** Longest run of memory that the CPU can write, with and without a translation board's blocks behind it. */
function memoryOf(computer: BenchComputer): { longest: number; from: number; total: number } {
  const writable = computer.regions
    .filter((each) => each.kind === "ram" || each.kind === "window")
    .sort((a, b) => a.from - b.from);
  let longest = 0;
  let at = 0;
  let start = -1;
  let end = -2;
  for (const region of writable) {
    if (region.from > end + 1) start = region.from;
    end = Math.max(end, region.to);
    if (end - start + 1 > longest) {
      longest = end - start + 1;
      at = start;
    }
  }
  const total = computer.regions.reduce(
    (sum, each) =>
      sum + (each.kind === "ram" || each.kind === "window" ? (each.to - each.from + 1) * (each.banks ?? 1) : 0),
    0,
  );
  return { longest, from: at, total };
}

export const memoryNeeds: Check = {
  id: "memory-needs",
  link: "memory",
  title: "Memory that the system needs",
  about:
    "The modules that are loaded at boot and the memory they ask for must fit in one run of memory, or behind windows and a translation board where the system can use those.",
  formula: "needed = Σ (module size + storage) ≤ longest run of memory that can be written",
  sources: [RULES.moduleCrc, RULES.arithmetic],
  run({ bench, images }) {
    const computer = bench.computer;
    return images.flatMap((image): Outcome[] =>
      image.needs.flatMap((need): Outcome[] => {
        if (need.kind !== "memory") return [];
        const about = image.name;
        const figures = [
          ...need.parts
            .slice(0, 12)
            .map((part) => imageFigure(part.what, formatValue(part.bytes, "memory", 6), image.name)),
          worked(`needed: ${need.computed}`, formatValue(need.bytes, "memory", 6)),
        ];
        if (!computer || computer.regions.length === 0)
          return [
            unknown(
              `The system on ${image.name} needs ${formatValue(need.bytes, "memory", 6)}; the bench's memory is not described.`,
              ["computer.memory"],
              { about, figures },
            ),
          ];
        const memory = memoryOf(computer);
        figures.push(
          worked("longest run", `${formatValue(memory.longest, "memory")} from ${address(memory.from)}`),
          worked("memory fitted", formatValue(memory.total, "memory")),
        );
        const shared = {
          about,
          figures,
          at: "computer.memory",
          margin: formatValue(memory.longest - need.bytes, "memory", 6),
          result: `${formatValue(need.bytes, "memory", 6)} of ${formatValue(memory.longest, "memory")}`,
        };
        if (need.from !== undefined && need.last !== undefined) {
          const { from, last } = need;
          const covered = computer.regions.some(
            (each) => (each.kind === "ram" || each.kind === "window") && each.from <= from && each.to >= last,
          );
          if (!covered && memory.longest < last - from + 1)
            return [
              {
                ...shared,
                verdict: "stops",
                sentence: `The programs on ${image.name} load at ${address(from)} and need memory up to ${address(last)}, which this machine does not have in one run.`,
                remedy: "Add memory there, or move what lies in its way.",
              },
            ];
        }
        if (need.contiguous > memory.longest)
          return [
            {
              ...shared,
              verdict: "stops",
              sentence: `The system on ${image.name} needs ${formatValue(need.contiguous, "memory", 6)} in one run, and the longest is ${formatValue(memory.longest, "memory")}.`,
              remedy: "Add memory, or a translation board that makes the banks behind the window one run.",
            },
          ];
        if (need.bytes > memory.total)
          return [
            {
              ...shared,
              verdict: "stops",
              sentence: `The system on ${image.name} needs ${formatValue(need.bytes, "memory", 6)} in all, and ${formatValue(memory.total, "memory")} are fitted.`,
              remedy: "Add memory, or start fewer programs.",
            },
          ];
        return [
          {
            ...shared,
            verdict: need.bytes > memory.longest * 0.9 ? "tight" : "runs",
            sentence: `The system on ${image.name} needs ${formatValue(need.bytes, "memory", 6)}; the longest run is ${formatValue(memory.longest, "memory")} from ${address(memory.from)}.`,
            ...(need.bytes > memory.longest * 0.9
              ? { remedy: "Start fewer programs, or add memory: little is left for what people run." }
              : {}),
          },
        ];
      }),
    );
  },
};
