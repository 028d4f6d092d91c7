import { type CauseDraft, type Kit, liveInside } from "../kit.ts";
import { RATES, WEAR } from "../rates.ts";

const MAINS_SAFE =
  "Pull the plug, keep it in sight, wait and measure that nothing is charged; what lies on the mains side belongs to someone licensed for it.";

/** The supply: what comes before the rails, and each rail. */
export function supplyCauses(kit: Kit): CauseDraft[] {
  const { computer, rails } = kit;
  if (!computer) return [];
  const hazards = liveInside(kit);
  const inside = computer.mains === "inside";
  const per = (rail: (typeof rails)[number]): CauseDraft[] => {
    const node = `rail:${rail.name}`;
    const about = { about: rail.name, at: rail.path, link: "board", hazards } as const;
    const regulator = rail.regulator?.part;
    return [
      {
        ...about,
        id: `filter/${rail.name}`,
        part: `filter capacitor of ${rail.name}`,
        class: "part",
        weight: RATES.electrolytic * WEAR.electrolytic,
        rate: `aluminium electrolytic, ${RATES.electrolytic} failures in 10⁶ h × ${WEAR.electrolytic} for a dried one (judgement)`,
        faults: [
          [node, "wrong", 0.5, 0.75],
          [node, "cold", 0.25],
          [node, "sometimes", 0.15],
          [node, "dead", 0.1],
        ],
        remedy: `${MAINS_SAFE} Replace the filter capacitor of ${rail.name}, same capacitance or a little more, same or higher voltage, the right way round.`,
        checks: ["supply-ripple"],
      },
      {
        ...about,
        id: `rectifier/${rail.name}`,
        part: `rectifier of ${rail.name}`,
        class: "part",
        weight: RATES.rectifier * 4 * WEAR.rectifier,
        rate: `power rectifier, ${RATES.rectifier} failures in 10⁶ h × 4 diodes × ${WEAR.rectifier} for age (judgement)`,
        faults: [
          [node, "dead", 0.7],
          [node, "wrong", 0.3],
        ],
        remedy: `${MAINS_SAFE} Measure each diode of ${rail.name}'s rectifier out of circuit; replace all four together.`,
      },
      {
        ...about,
        id: `regulator/${rail.name}`,
        part: `regulator of ${rail.name}${regulator ? ` (${regulator})` : ""}`,
        class: "part",
        weight: RATES.linear * WEAR.linear * 2,
        rate: `linear circuit, ${RATES.linear} failures in 10⁶ h × ${WEAR.linear} for age × 2 for heat (judgement)`,
        faults: [
          [node, "dead", 0.55],
          [node, "wrong", 0.25],
          [node, "warm", 0.2],
        ],
        remedy: `Do not switch on again with boards connected. ${MAINS_SAFE} Replace the regulator of ${rail.name}, with fresh heat-conducting paste.`,
        checks: ["regulator-heat"],
      },
      {
        ...about,
        id: `short/${rail.name}`,
        part: `shorted capacitor across ${rail.name}`,
        class: "part",
        weight: 0.03 * Math.max(1, computer.boards.length),
        faults: [[node, "dead", 1]],
        remedy: `Power off. Find the short of ${rail.name} with an ohmmeter, board by board; the capacitor that measures a few ohms goes.`,
      },
      {
        ...about,
        id: `overload/${rail.name}`,
        part: `too great a load on ${rail.name}`,
        class: "system",
        weight: 0.1,
        faults: [
          [node, "wrong", 0.5],
          [node, "warm", 0.35],
          [node, "dead", 0.15],
        ],
        remedy: `Take added boards off ${rail.name} or feed them from a supply of their own; \`rouse boards JOB\` shows who takes what.`,
        checks: ["supply-current", "supply-drop"],
      },
      {
        ...about,
        id: `supply-plug/${rail.name}`,
        part: `plug or wire of ${rail.name}`,
        class: "contact",
        weight: 0.06,
        faults: [
          [node, "sometimes", 0.55],
          [node, "dead", 0.3],
          [node, "wrong", 0.15],
        ],
        remedy: `Power off. Pull and push the supply's plugs, look for browned contacts, tighten or replace those of ${rail.name}.`,
        checks: ["supply-drop"],
      },
    ];
  };
  return [
    {
      id: "mains",
      link: "board",
      part: "fuse, switch or mains lead",
      class: "part",
      weight: RATES.fuse * WEAR.fuse,
      rate: `fuse, ${RATES.fuse} failures in 10⁶ h × ${WEAR.fuse} with switch and lead (judgement)`,
      faults: [
        ["mains", "dead", 0.85],
        ["mains", "sometimes", 0.15],
      ],
      remedy: `${inside ? MAINS_SAFE : "Pull the plug."} A fuse that blew had a reason: look for the short before another of the same rating goes in.`,
      hazards: inside ? ["mains"] : [],
    },
    {
      id: "transformer",
      link: "board",
      part: "transformer or its wiring",
      class: "part",
      weight: RATES.transformer,
      rate: `power transformer, ${RATES.transformer} failures in 10⁶ h`,
      faults: [
        ["raw", "dead", 0.9],
        ["raw", "warm", 0.1],
      ],
      remedy: `${inside ? MAINS_SAFE : "Pull the plug."} Have the transformer's windings measured and replaced by one of the same make-up.`,
      hazards,
    },
    ...rails.flatMap(per),
  ];
}
