import { CONTACT, feedDrop, LOWEST_LOGIC as LOWEST, LOGIC_RAIL as RAIL, railLoad } from "../../board/index.ts";
import { formatValue } from "../../quantity/index.ts";
import { benchFigure, type Check, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

export const supplyDrop: Check = {
  id: "supply-drop",
  link: "board",
  title: "Drop on the way to a board",
  about:
    "Wires and contacts between the supply and a board take part of its 5 V, there and back. 74LS parts are rated from 4.75 V; a thin ribbon or a tired socket takes the rest of the tolerance.",
  formula: "voltage at the board = rail − current × (wires there and back + contacts) ≥ 4.75 V",
  sources: [RULES.lsSheet, RULES.common],
  run({ bench }) {
    const computer = bench.computer;
    const rail = computer?.rails.find((each) => each.name === RAIL);
    return (computer?.boards ?? []).flatMap((board): Outcome[] => {
      if (!computer || !board.feed) return [];
      const about = board.name;
      const { max, rows, missing: unknownParts } = railLoad({ ...computer, boards: [board] }, RAIL);
      const drop = feedDrop(board, max);
      if (!drop) return [];
      const missing = [
        ...("missing" in drop ? drop.missing : []),
        ...(rail?.voltage ? [] : [`${rail?.path ?? `computer.supply.${RAIL}`}.voltage`]),
        ...unknownParts,
      ];
      if ("missing" in drop || !rail?.voltage || unknownParts.length > 0)
        return [
          unknown(`What ${board.name} loses on its way cannot be said without ${missing.join(", ")}.`, missing, {
            about,
          }),
        ];
      const volts = (value: number) => formatValue(value, "voltage", 3);
      const usual = rail.voltage.value - drop.drop;
      const lowest = rail.voltage.low - drop.drop;
      const shared = {
        about,
        at: `${board.path}.feed`,
        figures: [
          benchFigure("rail", rail.voltage, `${rail.path}.voltage`),
          worked(
            `current of ${board.name}${rows.length === 0 ? " (nothing drawn)" : ""}`,
            formatValue(max, "current", 3),
          ),
          worked("wires, there and back", formatValue(drop.wires, "resistance", 3)),
          worked(
            `contacts${board.feed.contact ? "" : ` at ${formatValue(CONTACT * 1000, "count")} mΩ, common practice`}`,
            formatValue(drop.contacts, "resistance", 3),
          ),
          worked("lost", volts(drop.drop)),
          worked("least that the parts are rated for", `${LOWEST} V`),
        ],
        result: `${volts(drop.drop)} lost, ${volts(usual)} at the board`,
        margin: volts(usual - LOWEST),
      };
      const remedy =
        "Bring its current over more or thicker wires, or clean and renew the contacts; measure at the board's own supply pins.";
      if (usual < LOWEST)
        return [
          {
            ...shared,
            verdict: "stops",
            sentence: `${board.name} gets ${volts(usual)} of ${volts(rail.voltage.value)}: ${volts(drop.drop)} are lost on the way, and its parts need ${LOWEST} V.`,
            remedy,
          },
        ];
      if (drop.drop > 0 && lowest < LOWEST && drop.drop > 0.1)
        return [
          {
            ...shared,
            verdict: "tight",
            sentence: `${board.name} loses ${volts(drop.drop)} on the way; with the rail at the low end of its tolerance it gets ${volts(lowest)}.`,
            remedy,
          },
        ];
      return [
        {
          ...shared,
          verdict: "runs",
          sentence: `${board.name} loses ${volts(drop.drop)} on the way and gets ${volts(usual)}.`,
        },
      ];
    });
  },
};
