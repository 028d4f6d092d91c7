import {
  charactersPerSecond,
  mismatchAdvised,
  mismatchLimit,
  nearestStandardRate,
  portRate,
  readFrame,
  sampling,
} from "../../line/index.ts";
import { formatNumber, formatValue } from "../../quantity/index.ts";
import { benchFigure, type Check, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

/** How far a terminal's own rate may be off where the bench says nothing: a crystal with a divider. */
const TERMINAL_ERROR = 0.002;

const percent = (share: number) => `${share < 0 ? "−" : "+"}${formatNumber(Math.abs(share) * 100, 3)} %`;

export const portRateCheck: Check = {
  id: "port-rate",
  link: "port",
  title: "Bit rate at both ends",
  about:
    "The receiver starts its clock at the edge of the start bit and must still be inside the last bit when it samples it. Both ends' errors add up; the uncertainty of the start edge (a sixteenth of a bit) is taken off first.",
  formula:
    "error at the last sample = |port ÷ terminal − 1| × bits to the last sample; it must stay below 1/2 − 1/16 bit",
  sources: [RULES.uartSampling],
  run({ bench }) {
    return bench.cables.map(({ from: port, to: terminal }): Outcome => {
      const about = port.name;
      const made = portRate(port);
      if (!made.known)
        return unknown(`The rate of ${port.name} cannot be worked out: ${made.why}.`, made.missing, {
          about,
          at: port.path,
        });
      if (!terminal.rate)
        return unknown(
          `${port.name} makes ${formatValue(made.rate, "rate")}; what ${terminal.name} is set to is not given.`,
          [`${terminal.path}.rate`],
          { about, at: terminal.path },
        );
      const frame = readFrame(port.format ?? terminal.format ?? "8N1");
      const spread = terminal.rateError?.value ?? TERMINAL_ERROR;
      const worst = Math.max(
        Math.abs(made.high / (terminal.rate.value * (1 - spread)) - 1),
        Math.abs(made.low / (terminal.rate.value * (1 + spread)) - 1),
      );
      const error = made.rate / terminal.rate.value - 1;
      const atLast = worst * frame.lastSample;
      const limit = mismatchLimit(frame);
      const heard = { low: terminal.rate.value * (1 - spread), high: terminal.rate.value * (1 + spread) };
      const { position, earliest, latest } = sampling(made, { rate: terminal.rate.value, ...heard }, frame);
      const shared = {
        about,
        at: port.path,
        figures: [
          benchFigure("clock", port.clock!, `${port.path}.clock`),
          worked(made.formula, `${made.steps} = ${formatValue(made.rate, "rate", 6)}`),
          benchFigure(`${terminal.name} is set to`, terminal.rate, `${terminal.path}.rate`),
          worked("error between the ends", percent(error)),
          worked("with both clocks' tolerance", percent(worst)),
          worked(`bits to the last sample (${frame.text})`, frame.lastSample),
          worked(
            "the last bit is sampled at",
            `${formatNumber(position * 100, 3)} % of it (${formatNumber(earliest * 100, 3)} to ${formatNumber(latest * 100, 3)} % with tolerances)`,
          ),
          worked("error at the last sample", `${formatNumber(atLast * 100, 3)} % of a bit`),
        ],
        result: `${formatValue(made.rate, "rate", 6)}, ${percent(error)}; ${formatNumber(atLast * 100, 3)} % of a bit at the last sample`,
        margin: `${formatNumber((limit * frame.lastSample - atLast) * 100, 3)} % of a bit`,
      };
      if (worst > limit) {
        const near = nearestStandardRate(made.rate);
        return {
          ...shared,
          verdict: "stops",
          sentence: `${port.name} sends at ${formatValue(made.rate, "rate", 5)} and ${terminal.name} listens at ${formatValue(terminal.rate.value, "rate")}: both ends must be set to the same rate.`,
          remedy:
            Math.abs(made.rate / near - 1) < limit
              ? `Set ${terminal.name} to ${formatValue(near, "rate")}, or change the divider of ${port.name}.`
              : `Change the clock or divider of ${port.name}: what it makes is near no standard rate.`,
        };
      }
      if (worst > mismatchAdvised(frame))
        return {
          ...shared,
          verdict: "tight",
          sentence: `${port.name} is ${percent(error)} off the rate of ${terminal.name}: inside the limit, but more than data sheets advise.`,
          remedy: "Choose another divisor or rate, or measure both ends and state their tolerance.",
        };
      return {
        ...shared,
        verdict: "runs",
        sentence: `${port.name} makes ${formatValue(made.rate, "rate", 5)}, ${percent(error)} from what ${terminal.name} expects: ${formatNumber(charactersPerSecond(made.rate, frame), 4)} characters a second.`,
      };
    });
  },
};
