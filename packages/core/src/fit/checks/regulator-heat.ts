import { railLoad, regulatorOf, WASHER } from "../../board/index.ts";
import { formatNumber, formatValue } from "../../quantity/index.ts";
import { benchFigure, type Check, figureOf, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

export const regulatorHeat: Check = {
  id: "regulator-heat",
  link: "board",
  title: "Regulator temperature",
  about:
    "A linear regulator turns (input − output) × current into heat. The junction's temperature follows from the thermal resistances on the way to the air; above its limit the regulator shuts down or fails. So it does with more current or more input voltage than its data sheet allows, whatever its heat sink.",
  formula: "junction = air + (input − output) × current × (junction to case + washer + heat sink)",
  sources: [RULES.arithmetic],
  run({ bench }) {
    const computer = bench.computer;
    return (computer?.rails ?? []).flatMap((rail): Outcome[] => {
      const regulator = rail.regulator;
      if (!computer || !regulator) return [];
      const about = rail.name;
      const values = regulator.chip?.regulator;
      if (!values)
        return [
          unknown(
            `The regulator of ${rail.name}, “${regulator.part}”, is not in the catalogue.`,
            [`${rail.path}.regulator.part`],
            { about },
          ),
        ];
      const missing = (["input", "ambient"] as const)
        .filter((key) => !regulator[key])
        .map((key) => `${rail.path}.regulator.${key}`);
      const toCase = values.junctionToCase;
      const limit = values.junctionMax;
      if (missing.length > 0 || !regulator.input || !regulator.ambient)
        return [
          unknown(
            `How hot the regulator of ${rail.name} gets cannot be said without ${missing.join(" and ")}.`,
            missing,
            { about },
          ),
        ];
      const { max, missing: unknownParts } = railLoad(computer, rail.name);
      const state = regulatorOf(rail, max);
      if (!limit || !state || "missing" in state)
        return [
          unknown(`The catalogue has no thermal values for “${regulator.part}”.`, [`${rail.path}.regulator.part`], {
            about,
          }),
        ];
      const { headroom, heat } = state;
      const { power, junction } = heat;
      const figures = [
        benchFigure("input", regulator.input, `${rail.path}.regulator.input`),
        figureOf("output", values.output),
        worked("current", formatValue(max, "current", 3)),
        worked("heat", formatValue(power, "power", 3)),
        ...(regulator.heatSink
          ? [
              figureOf("junction to case", toCase!),
              worked("washer, common practice", `${WASHER} °C/W`),
              benchFigure("heat sink", regulator.heatSink, `${rail.path}.regulator.heatSink`),
            ]
          : [figureOf("junction to air, no heat sink", values.junctionToAmbient!)]),
        benchFigure("air", regulator.ambient, `${rail.path}.regulator.ambient`),
        figureOf("greatest junction temperature", limit),
        ...(values.dropout ? [figureOf("drop it needs", values.dropout)] : []),
        ...(values.current ? [figureOf("greatest current", values.current)] : []),
        ...(values.inputMax ? [figureOf("greatest input", values.inputMax)] : []),
      ];
      const shared = {
        about,
        figures,
        result: `${formatNumber(junction, 3)} °C at the junction, ${formatValue(power, "power", 3)} of heat`,
        margin: `${formatNumber(limit.value.value - junction, 3)} °C`,
        at: `${rail.path}.regulator`,
        caution: "A regulator and its heat sink burn fingers at these temperatures; let them cool before touching.",
      };
      const { current, inputMax } = values;
      const most = Math.max(Math.abs(regulator.input.low), Math.abs(regulator.input.high));
      if (inputMax && most > inputMax.value.value)
        return [
          {
            ...shared,
            verdict: "stops",
            sentence: `The input of the ${rail.name} regulator is up to ${formatValue(most, "voltage", 3)}, and a ${regulator.part} bears ${formatValue(inputMax.value.value, "voltage", 3)}.`,
            margin: formatValue(inputMax.value.value - most, "voltage", 3),
            remedy: "Lower the input voltage before it is switched on, and look for a wrong tap of the transformer.",
          },
        ];
      if (current && max > current.value.value)
        return [
          {
            ...shared,
            verdict: "stops",
            sentence: `The boards draw up to ${formatValue(max, "current", 3)} from ${rail.name}, and its ${regulator.part} gives ${formatValue(current.value.value, "current", 3)}.`,
            margin: formatValue(current.value.value - max, "current", 3),
            remedy:
              "Feed the added board from a supply of its own, or fit a stronger regulator; where a transistor beside it carries the current, leave the regulator out of the bench file.",
          },
        ];
      if (values.dropout && headroom < values.dropout.value.value)
        return [
          {
            ...shared,
            verdict: "stops",
            sentence: `The regulator of ${rail.name} needs ${formatValue(values.dropout.value.value, "voltage")} between input and output and has ${formatValue(headroom, "voltage", 3)}.`,
            remedy:
              "Look for a tired rectifier or filter capacitor, measure the input's lowest point under load, and raise it.",
          },
        ];
      if (junction > limit.value.value)
        return [
          {
            ...shared,
            verdict: "stops",
            sentence: `The regulator of ${rail.name} would reach ${formatNumber(junction, 3)} °C, above its limit of ${formatNumber(limit.value.value, 4)} °C.`,
            remedy:
              "Fit a larger heat sink, lower the input voltage, or feed the added board from a supply of its own.",
          },
        ];
      if (unknownParts.length > 0)
        return [
          unknown(
            `The regulator of ${rail.name} reaches at least ${formatNumber(junction, 3)} °C; some parts' currents are not known.`,
            unknownParts,
            shared,
          ),
        ];
      if (junction > limit.value.value - 25)
        return [
          {
            ...shared,
            verdict: "tight",
            sentence: `The regulator of ${rail.name} reaches ${formatNumber(junction, 3)} °C, less than 25 °C below its limit.`,
            remedy: "Give it moving air or a larger heat sink before a long day.",
          },
        ];
      return [
        {
          ...shared,
          verdict: "runs",
          sentence: `The regulator of ${rail.name} reaches ${formatNumber(junction, 3)} °C with everything fitted.`,
        },
      ];
    });
  },
};
