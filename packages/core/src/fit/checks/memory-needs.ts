import { address } from "../../bytes/index.ts";
import { analyse, memoryMapOf, runsOf } from "../../memory/index.ts";
import { formatValue } from "../../quantity/index.ts";
import { type Check, imageFigure, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

export const memoryNeeds: Check = {
  id: "memory-needs",
  link: "memory",
  title: "Memory that the system needs",
  about:
    "The modules that are loaded at boot and the memory they ask for must fit in one run of memory, or behind windows and a translation board where the system can use those.",
  formula: "needed = Σ (module size + storage) ≤ longest run of memory that can be written",
  sources: [RULES.moduleCrc, RULES.arithmetic],
  run({ bench, images }) {
    const map = memoryMapOf(bench);
    const found = map && analyse(map);
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
        if (!map || !found)
          return [
            unknown(
              `The system on ${image.name} needs ${formatValue(need.bytes, "memory", 6)}; the bench's memory is not described.`,
              ["computer.memory"],
              { about, figures },
            ),
          ];
        const { bytes: longest, from: start, state } = found.longest.most;
        const total = map.parts
          .filter((each) => each.kind === "ram" || each.kind === "window")
          .reduce((sum, each) => sum + each.bytes, 0);
        figures.push(
          worked("longest run", `${formatValue(longest, "memory")} from ${address(start)}`),
          ...(found.longest.least.bytes < longest
            ? [
                worked(
                  "longest run in the worst state of the latches",
                  formatValue(found.longest.least.bytes, "memory"),
                ),
              ]
            : []),
          worked("memory fitted", formatValue(total, "memory")),
        );
        const shared = {
          about,
          figures,
          at: "computer.memory",
          margin: formatValue(longest - need.bytes, "memory", 6),
          result: `${formatValue(need.bytes, "memory", 6)} of ${formatValue(longest, "memory")}`,
        };
        if (need.from !== undefined && need.last !== undefined) {
          const { from, last } = need;
          const covered = runsOf(map.view(state)).some((each) => each.from <= from && each.to >= last);
          if (!covered)
            return [
              {
                ...shared,
                verdict: "stops",
                sentence: `The programs on ${image.name} load at ${address(from)} and need memory up to ${address(last)}, which this machine does not have in one run.`,
                remedy: "Add memory there, or move what lies in its way.",
              },
            ];
        }
        if (need.contiguous > longest)
          return [
            {
              ...shared,
              verdict: "stops",
              sentence: `The system on ${image.name} needs ${formatValue(need.contiguous, "memory", 6)} in one run, and the longest is ${formatValue(longest, "memory")}.`,
              remedy: "Add memory, or a translation board that makes the banks behind the window one run.",
            },
          ];
        if (need.bytes > total)
          return [
            {
              ...shared,
              verdict: "stops",
              sentence: `The system on ${image.name} needs ${formatValue(need.bytes, "memory", 6)} in all, and ${formatValue(total, "memory")} are fitted.`,
              remedy: "Add memory, or start fewer programs.",
            },
          ];
        return [
          {
            ...shared,
            verdict: need.bytes > longest * 0.9 ? "tight" : "runs",
            sentence: `The system on ${image.name} needs ${formatValue(need.bytes, "memory", 6)}; the longest run is ${formatValue(longest, "memory")} from ${address(start)}.`,
            ...(need.bytes > longest * 0.9
              ? { remedy: "Start fewer programs, or add memory: little is left for what people run." }
              : {}),
          },
        ];
      }),
    );
  },
};
