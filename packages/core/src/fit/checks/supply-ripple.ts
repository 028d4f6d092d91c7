import { LOW_MAINS, railLoad, rippleOf } from "../../board/index.ts";
import { formatValue } from "../../quantity/index.ts";
import { benchFigure, type Check, figureOf, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

/** A valley that is only so little above what the regulator needs has no room for an older capacitor, V. */
const SPARE = 0.5;

export const supplyRipple: Check = {
  id: "supply-ripple",
  link: "board",
  title: "Ripple at low mains",
  about:
    "Between two peaks of the rectified mains the filter capacitor feeds the regulator alone, and its voltage falls. At low mains, with the greatest current and a capacitor at the low end of its tolerance, the lowest point must still leave the regulator the drop that it needs; else the ripple passes through to the rail.",
  formula:
    "valley = secondary × (1 − low mains) × √2 − diodes × 1 V − current ÷ (ripple frequency × capacitance) ≥ output + drop",
  sources: [RULES.common],
  run({ bench }) {
    const computer = bench.computer;
    return (computer?.rails ?? []).flatMap((rail): Outcome[] => {
      const raw = rail.unregulated;
      if (!computer || !raw) return [];
      const about = rail.name;
      const { max, missing: unknownParts } = railLoad(computer, rail.name);
      const ripple = rippleOf(rail, max);
      const values = rail.regulator?.chip?.regulator;
      if (!ripple || "missing" in ripple || !values?.dropout) {
        const missing = [
          ...(ripple && "missing" in ripple ? ripple.missing : []),
          ...(values?.dropout ? [] : [`${rail.path}.regulator.part`]),
        ];
        return [
          unknown(
            `How low the input of the ${rail.name} regulator falls cannot be said without ${missing.join(", ")}.`,
            missing,
            {
              about,
            },
          ),
        ];
      }
      const output = Math.abs(values.output.value.value);
      const needed = output + values.dropout.value.value;
      const volts = (value: number) => formatValue(value, "voltage", 3);
      const shared = {
        about,
        at: `${rail.path}.unregulated`,
        figures: [
          benchFigure("secondary", raw.secondary, `${rail.path}.unregulated.secondary`),
          ...(raw.lowMains
            ? [benchFigure("mains may be low by", raw.lowMains, `${rail.path}.unregulated.lowMains`)]
            : [worked("mains may be low by, EN 50160", `${LOW_MAINS * 100} %`)]),
          worked("diodes in the way", ripple.diodes),
          worked("peak at low mains", volts(ripple.peak)),
          benchFigure("filter capacitor", raw.filter!, `${rail.path}.unregulated.filter`),
          worked("current", formatValue(max, "current", 3)),
          worked("time between peaks", formatValue(ripple.period, "time", 3)),
          worked("ripple", volts(ripple.ripple)),
          figureOf("output", values.output),
          figureOf("drop it needs", values.dropout),
        ],
        result: `${volts(ripple.valley)} at the lowest point, ${volts(needed)} needed`,
        margin: volts(ripple.valley - needed),
      };
      if (ripple.valley < needed)
        return [
          {
            ...shared,
            verdict: "stops",
            sentence: `At low mains the input of the ${rail.name} regulator falls to ${volts(ripple.valley)}, and it needs ${volts(needed)}: the ripple comes through to the rail.`,
            remedy:
              "Fit a new filter capacitor of at least the old one's size and voltage, look for a tired rectifier, or take load off this rail.",
            caution:
              "Filter capacitors stay charged: pull the plug, wait, measure, and discharge through a resistor before touching; leave mains wiring to licensed practice.",
          },
        ];
      if (unknownParts.length > 0)
        return [
          unknown(
            `The input of the ${rail.name} regulator falls to ${volts(ripple.valley)} or lower; some parts' currents are not known.`,
            unknownParts,
            shared,
          ),
        ];
      if (ripple.valley < needed + SPARE)
        return [
          {
            ...shared,
            verdict: "tight",
            sentence: `At low mains the input of the ${rail.name} regulator falls to ${volts(ripple.valley)}, ${volts(ripple.valley - needed)} above what it needs.`,
            remedy: "Measure the ripple under load, and renew the filter capacitor if it has lost capacitance.",
          },
        ];
      return [
        {
          ...shared,
          verdict: "runs",
          sentence: `At low mains the input of the ${rail.name} regulator stays above ${volts(ripple.valley)}, and it needs ${volts(needed)}.`,
        },
      ];
    });
  },
};
