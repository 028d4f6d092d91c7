import { address } from "../../bytes/index.ts";
import { type MapState, type MemoryMap, memoryMapOf } from "../../memory/index.ts";
import { benchFigure, type Check, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

/** Where a CPU looks for its start: the high byte of its reset vector, or its first instruction. Data sheets and manuals of the CPUs. */
const LOOKS_AT: Readonly<Record<string, { at: number; what: string }>> = {
  "6809": { at: 0xfffe, what: "its reset vector" },
  "6800": { at: 0xfffe, what: "its reset vector" },
  "6502": { at: 0xfffc, what: "its reset vector" },
  Z80: { at: 0x0000, what: "its first instruction" },
  "8080": { at: 0x0000, what: "its first instruction" },
  "8085": { at: 0x0000, what: "its first instruction" },
};
const MOST_STATES = 4096;

/** States in which the machine may be switched on: latches whose power-on value the bench does not say hold anything. */
function* startStates(map: MemoryMap): Generator<MapState> {
  const said = map.latches.filter(({ assumed }) => !assumed);
  const { powerOn } = map;
  for (const state of map.states(MOST_STATES))
    if (
      state.translation?.on === powerOn.translation?.on &&
      said.every(({ name }) => state.latches[name] === powerOn.latches[name])
    )
      yield state;
}

export const memoryStart: Check = {
  id: "memory-start",
  link: "memory",
  title: "The memory at power-on",
  about:
    "At power-on latches hold what their reset gives them, and a translation board's map holds chance until it is written. In that state a ROM must answer where the CPU looks for its start: RAM holds chance, too.",
  sources: [RULES.arithmetic, RULES.cpuSheets],
  run({ bench }) {
    const map = memoryMapOf(bench);
    const cpu = bench.computer?.cpu;
    if (!map || !cpu) return [];
    const own = LOOKS_AT[cpu.chip?.cpu?.instructionSet ?? ""];
    const looks = cpu.start === undefined ? own : { at: cpu.start, what: "its start, as the board makes it" };
    if (!looks) return [];
    const at = "computer.memory";
    const kinds = new Map<string, string | undefined>();
    for (const state of startStates(map)) {
      const { read, clash } = map.answering(state, looks.at);
      kinds.set(clash.length > 0 ? "clash" : (read?.kind ?? "nothing"), read?.region);
    }
    const place = `${address(looks.at)}, where the CPU looks for ${looks.what}`;
    const figures = [
      worked("where it looks", address(looks.at)),
      ...map.latches.map((latch) =>
        latch.assumed
          ? worked(`${latch.name} at power-on`, "not said")
          : benchFigure(`${latch.name} at power-on`, latch.powerOn, latch.path),
      ),
      ...(map.translation
        ? [
            benchFigure(
              "translation at power-on",
              map.translation.powerOn ? "on" : "off",
              "computer.translation.powerOn",
            ),
          ]
        : []),
      ...[...kinds].map(([kind, region]) => worked("answers there", region ? `${region} (${kind})` : kind)),
    ];
    if (kinds.size > 1)
      return [
        unknown(
          `What answers ${place} hangs on what a latch holds at power-on.`,
          map.latches.filter(({ assumed }) => assumed).map(({ path }) => `${path}.powerOn`),
          { at, figures },
        ),
      ];
    const [[kind, region]] = [...kinds] as [[string, string | undefined]];
    if (kind === "rom")
      return [{ at, figures, verdict: "runs", sentence: `At power-on ${region} answers ${place}.`, result: region! }];
    const outcome: Outcome = {
      at,
      figures,
      verdict: "stops",
      sentence:
        kind === "nothing"
          ? `At power-on nothing answers ${place}.`
          : kind === "clash"
            ? `At power-on two drive the bus at ${place}.`
            : `At power-on ${region} (${kind}) answers ${place}, and not a ROM.`,
      remedy:
        "Check the ROM's address, its decoder and the reset of the latches; or say under computer.cpu.start where the board makes the CPU begin.",
    };
    return [outcome];
  },
};
