import { type CableProblem, cableProblems, cableNets as netsOf } from "../../line/index.ts";
import { benchFigure, type Check, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

const GROUND = "Wire signal ground (pin 7 of a DB-25, pin 5 of a DE-9) through.";
/** What to do about a problem; wires that are crossed or not are told by the roles of both ends. */
const REMEDIES: Readonly<Record<CableProblem["code"], string>> = {
  "drivers-fight": "",
  "no-data": "",
  "no-ground": GROUND,
  "shield-as-ground": GROUND,
  "never-asserted": "Use a null modem with the handshake wired or looped back, or turn the handshake off at that end.",
  "may-hold":
    "Join CTS to that end's own RTS by a jumper in its plug (`rouse cable --design` draws it), or find out that its board ties CTS.",
};

export const cableNets: Check = {
  id: "cable-nets",
  link: "cable",
  title: "What each wire joins",
  about:
    "Every pin of both connectors carries a circuit; who drives it follows from the role (DTE or DCE). What one end sends must reach what the other listens to, no two ends may drive one wire, the grounds must be joined, and a handshake that an end waits for must be driven.",
  sources: [RULES.v24],
  run({ bench }) {
    return bench.cables.map((cable): Outcome => {
      const about = cable.name;
      const nets = netsOf(cable);
      if (!nets.known)
        return unknown(
          `Which wire of ${cable.name} joins what cannot be said without ${nets.missing.join(", ")}.`,
          nets.missing,
          { about },
        );
      const problems = cableProblems(cable, nets.nets);
      const used = nets.nets.filter((net) => net.drivers.length > 0 && net.pins.length > 1);
      const shared = {
        about,
        at: cable.path,
        figures: [
          ...(cable.kind ? [benchFigure("kind", cable.kind, `${cable.path}.kind`)] : []),
          benchFigure(cable.from.name, `${cable.from.role}, ${cable.from.connector!.title}`, `${cable.from.path}.role`),
          benchFigure(cable.to.name, `${cable.to.role}, ${cable.to.connector!.title}`, `${cable.to.path}.role`),
          ...used.map((net) =>
            worked(
              net.drivers
                .map(
                  (pin) => `${pin.circuit} (pin ${pin.pin} of ${pin.end === "from" ? cable.from.name : cable.to.name})`,
                )
                .join(" against "),
              net.listeners.length > 0
                ? `→ ${net.listeners.map((pin) => `${pin.circuit} (pin ${pin.pin} of ${pin.end === "from" ? cable.from.name : cable.to.name})`).join(", ")}`
                : "→ nothing listens",
            ),
          ),
        ],
      };
      if (problems.length === 0)
        return { ...shared, verdict: "runs", sentence: `${cable.name} carries data both ways and joins the grounds.` };
      const same = cable.from.role === cable.to.role;
      const crossed = problems.some((each) => each.code === "no-data" || each.code === "drivers-fight");
      return {
        ...shared,
        verdict: problems.some((each) => each.grave) ? "stops" : "tight",
        sentence: `${cable.name}: ${problems.map((each) => each.sentence).join("; ")}.`,
        remedy: crossed
          ? same
            ? `Both ends are ${cable.from.role}: use a crossed cable (null modem), which joins TxD to RxD both ways.`
            : "One end is DTE and the other DCE: use a straight cable."
          : [...new Set(problems.map((each) => REMEDIES[each.code]))].join(" "),
      };
    });
  },
};
