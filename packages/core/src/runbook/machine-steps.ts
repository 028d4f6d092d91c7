import type { BenchComputer, BenchRail } from "../bench/index.ts";
import { fittingsOf } from "../board/index.ts";
import { formatQuantity } from "../quantity/index.ts";
import type { Draft } from "./step.ts";
import type { Wanted } from "./types.ts";

/** Tolerance of a rail where the bench states none: usual for logic supplies (from memory). */
const USUAL_SHARE = 0.05;
const METER = "multimeter";

/** What a rail must measure: its tolerance from the bench, else ± 5 %. */
function wantedOf({ name, voltage }: BenchRail): Wanted | undefined {
  if (!voltage) return undefined;
  const stated = voltage.low !== voltage.high;
  const spread = Math.abs(voltage.value) * USUAL_SHARE;
  const low = stated ? voltage.low : voltage.value - spread;
  const high = stated ? voltage.high : voltage.value + spread;
  const text = stated ? formatQuantity(voltage) : `${formatQuantity(voltage)} ± 5 % (usual; the bench states none)`;
  return { what: `rail ${name}`, dimension: "voltage", low, high, text };
}

/** What is looked at before any power comes near. */
export function inspectionSteps(computer: BenchComputer): Draft[] {
  const added = computer.boards.filter((each) => each.added).map((each) => each.name);
  const power =
    computer.mains === "inside"
      ? "Pull the mains plug, keep it in sight, and open the case."
      : "Pull the supply's plug and open the case.";
  return [
    {
      id: "inspect-case",
      title: "Look the machine over with the power off",
      why: "Age shows before it is measured: leaking capacitors, brittle wires, loose chips, a part that went astray.",
      how: [
        power,
        "Photograph everything before a thing is touched.",
        "Look for bulges and leaks on capacitors, brown patches, corrosion, cracked insulation, foreign bodies; smell.",
        "Press chips in sockets home, on a grounded mat and with a wrist strap.",
        "Clean contacts dry; nothing abrasive on plated edges.",
      ],
      expected: "Nothing bulges, leaks, rattles or smells burnt; every chip sits level in its socket.",
      tools: ["torch", "camera", "grounded mat and wrist strap", "soft brush"],
      time: 20,
      say: "Do not switch on. Replace paper suppressors and tired electrolytics first (IEC 60384-14 types on the mains side), or have it done by someone licensed for it.",
      checks: ["supply-ripple"],
      rests: [
        computer.name,
        computer.mains,
        computer.boards.map((each) => each.name).filter((each) => !added.includes(each)),
      ],
    },
    ...(computer.rails.length === 0
      ? []
      : [
          {
            id: "inspect-shorts",
            title: "Measure that no rail is shorted",
            why: "A shorted capacitor or chip would take the supply with it.",
            how: [
              "Power off, supply disconnected from the boards.",
              `Measure the resistance to ground of ${computer.rails.map((each) => each.name).join(", ")} on the boards, both ways round.`,
            ],
            expected: "More than a few ohms on each rail, rising while the capacitors charge.",
            tools: [METER],
            time: 5,
            say: "Take boards and socketed chips out in turn until the short goes.",
            checks: ["supply-current"],
            rests: [computer.rails.map((each) => each.name)],
          },
        ]),
  ];
}

type Load = "off" | "on" | "full";

const LOADS: Readonly<Record<Load, { title: string; why: string; how: string; minutes: number; say: string }>> = {
  off: {
    title: "off load",
    why: "A regulator that failed puts the raw voltage on every chip: find out with none connected.",
    how: "Supply disconnected from the boards, a resistor of a tenth of the usual load on the rail where its regulator needs one.",
    minutes: 4,
    say: "Switch off at once. Do not connect a board to it; regulator, rectifier and filter capacitor are looked at first.",
  },
  on: {
    title: "on load",
    why: "The rail must hold with everything it feeds, and not creep as it warms.",
    how: "Power off, boards connected again; then on, hand on the switch.",
    minutes: 12,
    say: "Switch off at once. Compare off load and on load: a drop points at filter, wires or too great a load.",
  },
  full: {
    title: "with the added boards",
    why: "The added load is the one that the supply was not made for.",
    how: "All boards fitted; on, hand on the switch.",
    minutes: 12,
    say: "Switch off at once, and take the added board out. `rouse boards JOB` shows what it takes of each rail.",
  },
};

function measure(computer: BenchComputer, rail: BenchRail, load: Load): Draft {
  const wanted = wantedOf(rail);
  const first = load === "off" && rail === computer.rails[0];
  const { title, why, how, minutes, say } = LOADS[load];
  const fed = computer.boards.filter((each) => load === "full" || (load === "on" && !each.added));
  return {
    id: `supply-${load}-load/${rail.name}`,
    title: `Measure ${rail.name} ${title}`,
    why,
    how: [
      ...(computer.mains === "inside"
        ? ["One hand behind your back; no wrist strap while mains is near; not alone."]
        : []),
      how,
      ...(first
        ? ["Bring the voltage up slowly under a current limit or a lamp in series, if it has not run for years."]
        : []),
      `Meter on direct voltage, black on ground, red on ${rail.name}. Read after a minute${load === "off" ? "" : ", and again after ten"}.`,
    ],
    expected: wanted ? `${rail.name} at ${wanted.text}` : "Not known: the bench does not say the rail's voltage.",
    ...(wanted ? { reading: wanted } : {}),
    tools: [METER, ...(first ? ["current-limited source or series lamp"] : [])],
    time: minutes,
    say,
    checks: ["supply-current", "supply-drop", "supply-ripple", "regulator-heat"],
    missing: wanted ? [] : [`${rail.path}.voltage`],
    rests: [rail, fed.map(({ name, draws, chips }) => [name, draws, chips])],
  };
}

/** Each rail off load, then on load. */
export const supplySteps = (computer: BenchComputer): Draft[] =>
  (["off", "on"] as const).flatMap((load) => computer.rails.map((rail) => measure(computer, rail, load)));

/** Each rail again, once there are boards that the machine did not have. */
export const fittedSteps = (computer: BenchComputer): Draft[] =>
  computer.boards.some((each) => each.added) ? computer.rails.map((rail) => measure(computer, rail, "full")) : [];

/** Fitting each added board, from the board room's list. */
export const fittingSteps = (computer: BenchComputer): Draft[] =>
  fittingsOf(computer).flatMap(({ board, steps, missing }) =>
    steps.map((step, index) => ({
      id: `fit/${board}/${step.kind}-${steps.slice(0, index + 1).filter((each) => each.kind === step.kind).length}`,
      title: `${board}: ${FITTING_TITLES[step.kind]}`,
      why: FITTING_WHY[step.kind],
      how: [step.text],
      expected: step.undo ? `Done, and the way back is known: ${step.undo}` : FITTING_EXPECTED[step.kind],
      tools: FITTING_TOOLS[step.kind],
      time: step.kind === "remove" || step.kind === "fit" ? 5 : 2,
      say:
        step.kind === "measure"
          ? "Take the board out again, and look for what is turned round, bent or bridged."
          : "Stop; nothing is forced. Compare with the photographs.",
      checks: ["board-fitting", "supply-current", "fan-out", "bus-timing"],
      missing: step.kind === "socket" || step.kind === "remove" || step.kind === "link" ? missing : [],
      rests: [board, step.kind, step.text],
    })),
  );

type FittingKind = ReturnType<typeof fittingsOf>[number]["steps"][number]["kind"];
const FITTING_TITLES: Readonly<Record<FittingKind, string>> = {
  power: "power off",
  photograph: "photograph",
  remove: "take out",
  socket: "find pin 1",
  link: "set the links",
  fit: "put it in",
  measure: "measure",
  undo: "take it back",
};
const FITTING_WHY: Readonly<Record<FittingKind, string>> = {
  power: "A board that is moved with the power on dies, and takes neighbours with it.",
  photograph: "What was there must be known to be put back.",
  remove: "Its place is needed; the part itself stays with the machine.",
  socket: "Turned round, supply and ground change places.",
  link: "The board decodes or drives what a link gave before.",
  fit: "The system on the image needs it.",
  measure: "A fault found with the meter costs nothing.",
  undo: "The machine becomes again what it was.",
};
const FITTING_EXPECTED: Readonly<Record<FittingKind, string>> = {
  power: "Every rail below 1 V.",
  photograph: "Notches, pin 1 and numbers can be read on the pictures.",
  remove: "No pin bent or left behind.",
  socket: "Pin 1 of board and socket lie together.",
  link: "Set, and how it was is written down.",
  fit: "All pins are in, none bent under.",
  measure: "No short; rails come up and stay.",
  undo: "As before.",
};
const FITTING_TOOLS: Readonly<Record<FittingKind, readonly string[]>> = {
  power: [METER],
  photograph: ["camera", "light from the side"],
  remove: ["chip extractor", "labelled antistatic box", "grounded mat and wrist strap"],
  socket: ["magnifier"],
  link: [],
  fit: ["grounded mat and wrist strap"],
  measure: [METER],
  undo: [],
};
