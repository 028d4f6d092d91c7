import { address } from "../../bytes/index.ts";
import { analyse, type MapFindings, memoryMapOf, type Range, stateText } from "../../memory/index.ts";
import { formatValue } from "../../quantity/index.ts";
import { benchFigure, type Check, type Outcome, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

const range = ({ from, to }: Range) => `${address(from)}–${address(to)}`;
/** Smaller holes and hidden stretches are left to the figures: ports seldom fill their page. */
const BIG = 256;
const big = (ranges: readonly Range[]): Range[] => ranges.filter((each) => each.to - each.from + 1 >= BIG);

function sentences(found: MapFindings, fitted: string): string {
  const holes = big(found.holes);
  const some = big(found.sometimesHoles);
  const mirrored = found.mirrors.filter((each) => each.bytes >= BIG);
  return [
    holes.length > 0
      ? `No two regions clash; nothing answers ${holes.map(range).join(", ")}.`
      : "No two regions clash and nothing is left open.",
    ...(some.length > 0 ? [`In some states of the latches nothing answers ${some.map(range).join(", ")}.`] : []),
    ...mirrored.map(
      (each) => `${each.region} answers at mirrors too, ${formatValue(each.bytes, "memory")} of addresses.`,
    ),
    `${fitted} of memory are fitted.`,
  ].join(" ");
}

export const memoryMap: Check = {
  id: "memory-map",
  link: "memory",
  title: "The memory map",
  about:
    "A 16-bit address sees 64 KiB, $0000 to $FFFF. In every state of the latches, two regions that answer one address drive the data bus against each other; a stretch that nothing answers reads as whatever the bus was left at; memory that no state shows is of no use.",
  formula: "banks × window + main memory = memory fitted; 64 KiB − Σ regions = holes",
  sources: [RULES.arithmetic],
  run({ bench }) {
    const map = memoryMapOf(bench);
    if (!map) return [];
    const { regions } = map.computer;
    const found = analyse(map);
    const sum = (kind: "ram" | "window") =>
      map.parts.filter((each) => each.kind === kind).reduce((total, each) => total + each.bytes, 0);
    const [ram, banked] = [sum("ram"), sum("window")];
    const fitted = formatValue(ram + banked, "memory");
    const figures = [
      ...regions.map((each) =>
        benchFigure(
          each.name,
          `${range(each)} ${each.kind}${each.banks ? `, ${each.banks} banks of ${formatValue(each.to - each.from + 1, "memory")}` : ""}`,
          each.path,
        ),
      ),
      worked("main memory", formatValue(ram, "memory")),
      worked("behind windows", formatValue(banked, "memory")),
      worked("memory fitted", fitted),
      worked("states of the latches looked at", `${found.looked} of ${found.states}`),
      ...found.unseen.map((each) =>
        worked(
          `${found.looked === found.states ? "never seen" : "not seen in these"} of ${each.part}`,
          `${formatValue(each.bytes, "memory")}${each.banks.length > 0 ? `, banks ${each.banks.slice(0, 8).join(", ")}` : ""}`,
        ),
      ),
    ];
    const shared = { figures, at: "computer.memory", result: `${fitted} of memory` };
    const [first] = found.clashes;
    if (first) {
      const more = found.clashes.length - 1;
      const always = first.states === found.looked;
      return [
        {
          ...shared,
          verdict: "stops",
          sentence: `${first.regions.join(" and ")} both answer ${range(first)}${always ? "" : ` with ${stateText(first.state)}`}${more > 0 ? `, and ${more} more sets clash` : ""}.`,
          remedy: "Move one of them, or say “under: true” where one lies under the other and is switched off.",
        },
      ];
    }
    // A window's banks beyond its latch are told by the check of the banks.
    // Nor is anything lost that a state not looked at may show.
    const lost = found.unseen.filter(
      (each) => found.looked === found.states && each.bytes === each.of && each.banks.length === 0,
    );
    const outcome: Outcome =
      lost.length > 0
        ? {
            ...shared,
            verdict: "tight",
            sentence: `No state of the latches shows ${lost.map((each) => each.part).join(", ")}: something lies over it always.`,
            remedy: "Check its address and what lies over it; say under “when” which latch switches that away.",
          }
        : { ...shared, verdict: "runs", sentence: sentences(found, fitted) };
    return [outcome];
  },
};
