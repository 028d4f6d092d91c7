import { formatValue } from "../../quantity/index.ts";
import { benchFigure, type Check, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

/** IEEE 488.1: at most 2 m a device and 20 m in all, at most 15 devices; 4 m between neighbours. */
const METRES_A_DEVICE = 2;
const METRES_IN_ALL = 20;
const METRES_BETWEEN = 4;
const DEVICES = 15;

export const busLength: Check = {
  id: "bus-length",
  link: "bus",
  title: "Length and number on the IEEE 488 bus",
  about:
    "The bus is made for at most 15 devices, 2 m of cable a device and 20 m in all; longer cables load the drivers and blur the handshake's edges.",
  formula: "length ≤ min(20 m, 2 m × devices); each cable ≤ 4 m; devices ≤ 15",
  sources: [RULES.ieee488],
  run({ bench }) {
    return bench.buses
      .filter((bus) => bus.kind === "IEEE 488")
      .map((bus): Outcome => {
        const about = bus.name;
        if (bus.cables.length === 0)
          return unknown(`The cables of ${bus.name} are not described.`, [`${bus.path}.cables`], { about });
        const total = bus.cables.reduce((sum, cable) => sum + cable.length.high, 0);
        const longest = Math.max(...bus.cables.map((cable) => cable.length.high));
        const devices = bus.devices.length;
        const limit = Math.min(METRES_IN_ALL, METRES_A_DEVICE * devices);
        const shared = {
          about,
          figures: [
            ...bus.cables.map((cable, index) =>
              benchFigure(
                cable.between ? cable.between.join(" to ") : `cable ${index + 1}`,
                cable.length,
                `${bus.path}.cables.${index}.length`,
              ),
            ),
            worked("devices", devices),
            worked("allowed in all", formatValue(limit, "length")),
          ],
          result: `${formatValue(total, "length", 3)} of ${formatValue(limit, "length")}, ${devices} devices`,
          margin: formatValue(limit - total, "length", 3),
          at: bus.path,
        };
        if (devices > DEVICES)
          return {
            ...shared,
            verdict: "stops",
            sentence: `${devices} devices hang on ${bus.name}, which carries ${DEVICES}.`,
            remedy: "Take off what the show does not need.",
          };
        if (total > limit || longest > METRES_BETWEEN)
          return {
            ...shared,
            verdict: total > METRES_IN_ALL ? "stops" : "tight",
            sentence:
              total > limit
                ? `${formatValue(total, "length", 3)} of cable hang on ${bus.name}, where ${devices} devices allow ${formatValue(limit, "length")}.`
                : `One cable of ${bus.name} is ${formatValue(longest, "length", 3)} long, where ${METRES_BETWEEN} m between neighbours is the limit.`,
            remedy: "Use shorter cables, or take off a device that the show does not need together with its cable.",
          };
        return {
          ...shared,
          verdict: "runs",
          sentence: `${formatValue(total, "length", 3)} of cable join ${devices} devices on ${bus.name}, within the ${formatValue(limit, "length")} allowed.`,
        };
      });
  },
};
