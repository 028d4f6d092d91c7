import type { Bench, BenchRegion } from "../bench/index.ts";
import { address } from "../bytes/index.ts";
import { formatNumber } from "../quantity/index.ts";
import type { Draft } from "./step.ts";

const PROGRAMS = "memory-programs";

/** What a test program needs of a bench, as far as it is quickly told; `rouse diag` says the rest. */
const testable = ({ computer, ports }: Bench): boolean =>
  computer?.cpu?.clock !== undefined && ports.some((each) => each.at !== undefined && each.chip !== undefined);

/** The test programs of this bench, run on the machine: what they print is the evidence of the steps after it. */
function programStep(bench: Bench): Draft {
  const port = bench.show?.port ?? bench.ports[0]!;
  const cable = bench.cables.find((each) => each.from === port);
  return {
    id: PROGRAMS,
    title: "Run the test programs made for this bench",
    why: "They need no system and no good memory, and walk every byte, bank and block; what they print names the bad part.",
    how: [
      "`rouse diag JOB --out tests` writes them, and says how long each takes on this bench if nothing is wrong.",
      "Power off, mains plug pulled and in sight, grounded mat and wrist strap: put the EPROM with the program in the monitor's place, the monitor's own in conductive foam, notches the same way round. Take the strap off before the power comes on.",
      `They speak through ${port.name}: a terminal or an adapter there${cable ? `, once its cable was rung through (\`cable/${cable.name}\`)` : ""}. Keep what comes: \`rouse talk PORT --capture captures/tests.jsonl\`.`,
      "Add the capture to this step; power off and plug pulled again, and put the monitor back.",
    ],
    expected:
      "BEGIN and the program's number, for each test its letter and GOOD, and at last END GOOD, said again every 10 s.",
    tools: ["EPROM programmer", "chip extractor", "grounded mat and wrist strap", "terminal or serial adapter"],
    time: 20,
    say: "`rouse suspects JOB captures/tests.jsonl` names the parts that explain such a report, and what to measure next. Nothing printed at all: clock, reset, EPROM, port or cable.",
    checks: ["memory-map", "memory-decode", "memory-banks"],
    rests: [bench.computer?.cpu, bench.computer?.regions, bench.computer?.translation, port],
  };
}

/** The tests of `rouse diag` that walk a region. */
const testsOf = ({ kind }: BenchRegion): string =>
  kind === "rom"
    ? "--test rom"
    : kind === "window"
      ? "--test march-c-,retention,banks,latches --over banks"
      : "--test march-c-,retention,address --over main";

/** One step for the test programs, where the bench can run them, and one for each piece of memory. */
export function memorySteps(bench: Bench): Draft[] {
  const byProgram = testable(bench);
  const regions = (bench.computer?.regions ?? []).filter((each) => each.kind !== "io" && !each.under);
  const steps = regions.map((region): Draft => {
    const range = `${address(region.from)} to ${address(region.to)}`;
    const size = region.to - region.from + 1;
    const rom = region.kind === "rom";
    const banks = region.kind === "window" ? (region.banks ?? 1) : 1;
    return {
      id: `memory/${region.name}`,
      title: `Test ${region.name}`,
      why: rom
        ? "A ROM that lost bits fails late and oddly."
        : "The right chip to change is known now, and only guessed once a system runs on it.",
      how: [
        ...(byProgram
          ? [
              `By the report of the programs (\`${PROGRAMS}\`); \`rouse diag JOB ${testsOf(region)}\` makes one for this alone. Without one:`,
            ]
          : []),
        rom
          ? `Read ${range} with the monitor or a programmer, and compare it with ${region.file ?? "a copy that is known to be good"}.`
          : `Run a memory test over ${range}: write, read back, and read again after a minute for the refresh.`,
        ...(banks > 1
          ? [
              `Do so in each of the ${banks} banks, with another pattern in each, and read all back only after the last was written: banks that are the same chip show only so.${region.latch ? ` The bank is chosen at ${address(region.latch.at)}.` : ""}`,
            ]
          : []),
      ],
      expected: rom
        ? `All ${formatNumber(size, 12)} bytes agree.`
        : `${formatNumber(size * banks, 12)} bytes keep what was written${banks > 1 ? `, ${banks} banks apart from one another` : ""}; no address answers twice.`,
      tools: rom ? ["monitor program or ROM reader"] : ["monitor program or memory test"],
      time: 3 + banks,
      say: "`rouse memory JOB ADDRESS` names the chip that answers there; one bad bit at all addresses is one chip, all bits at some addresses is decoding or an address line.",
      checks: ["memory-map", "memory-decode", "memory-banks", "memory-needs"],
      missing: rom && region.file === undefined ? [`${region.path}.file`] : [],
      rests: [region],
    };
  });
  return byProgram && steps.length > 0 ? [programStep(bench), ...steps] : steps;
}
