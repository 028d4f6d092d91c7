import type { Bench } from "../bench/index.ts";

/** A caution that the bench's parts call for, to be read before a case is opened. */
export interface Caution {
  code: "mains" | "picture-tube" | "capacitors" | "static";
  title: string;
  sentence: string;
}

const DEFER = "Where local codes or licensed practice say otherwise, they go first.";

/**
 * The usual cautions for the parts that this bench has. Wording after service manuals' safety pages and ANSI/ESD
 * S20.20; nothing here replaces training.
 */
export function cautionsFor(bench: Bench): Caution[] {
  const cautions: Caution[] = [];
  const computer = bench.computer;
  if (computer?.mains === "inside")
    cautions.push({
      code: "mains",
      title: "Mains inside the case",
      sentence: `Pull the plug and keep it in sight before the case is opened; a switch does not count. Do not work alone or on live mains. ${DEFER}`,
    });
  if (bench.terminals.some((each) => each.display === "picture tube"))
    cautions.push({
      code: "picture-tube",
      title: "Picture tube",
      sentence: `The anode holds thousands of volts, for hours after switching off. Leave the inside of the display to people trained for it; discharge only to the tube's own ground strap, through a resistor made for it, and again before every touch. Never lift a tube by its neck; wear goggles. ${DEFER}`,
    });
  if (computer && computer.rails.length > 0)
    cautions.push({
      code: "capacitors",
      title: "Charged capacitors",
      sentence:
        "Capacitors of the supply stay charged with the plug pulled: wait, measure, and discharge through a resistor, never with a screwdriver. Old ones may fail at the first power-up: inspect first, raise the voltage under a current limit, stand clear.",
    });
  if (computer && computer.boards.length > 0)
    cautions.push({
      code: "static",
      title: "Static electricity",
      sentence:
        "Touch chips and boards only on a grounded mat with a wrist strap, with the power off. Never wear the strap near live mains or high voltage.",
    });
  return cautions;
}
