import { formatValue } from "../../quantity/index.ts";
import { benchFigure, type Check, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

export const memoryBanks: Check = {
  id: "memory-banks",
  link: "memory",
  title: "Banks behind a window",
  about:
    "A latch of n bits chooses one of 2ⁿ banks. With fewer bits than banks some are never seen; a latch that cannot be read back must be remembered by the system.",
  formula: "banks ≤ 2^(bits of the latch)",
  sources: [RULES.arithmetic],
  run({ bench }) {
    const windows = (bench.computer?.regions ?? []).filter((each) => each.kind === "window");
    return windows.map((window): Outcome => {
      const about = window.name;
      const banks = window.banks ?? 1;
      const bits = window.latch?.bits;
      if (bits === undefined)
        return unknown(
          `How the ${banks} banks of ${window.name} are chosen is not given.`,
          [`${window.path}.latch.bits`],
          { about },
        );
      const reach = 2 ** bits;
      const shared = {
        about,
        at: window.path,
        figures: [
          benchFigure("banks", banks, `${window.path}.banks`),
          benchFigure("bits of the latch", bits, `${window.path}.latch.bits`),
          worked("banks the latch reaches", reach),
          worked("memory behind it", formatValue(banks * (window.to - window.from + 1), "memory")),
        ],
        result: `${Math.min(reach, banks)} of ${banks} banks within reach`,
      };
      if (reach < banks)
        return {
          ...shared,
          verdict: "stops",
          sentence: `The latch of ${window.name} has ${bits} bits and reaches ${reach} of its ${banks} banks.`,
          remedy: "Check the latch's width and its wiring; a missing bit hides half of the memory.",
        };
      return {
        ...shared,
        verdict: "runs",
        sentence: `The latch of ${window.name} reaches all ${banks} banks, ${formatValue(banks * (window.to - window.from + 1), "memory")} in all.`,
      };
    });
  },
};
