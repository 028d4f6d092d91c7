import type { FaultInPlace, Test } from "../types.ts";
import { inTurn, outcome, type TestKit, test } from "./kit.ts";

/** What is seen, heard and smelt with nothing opened. */
export const lookTests = (kit: TestKit): Test[] => [
  screen(kit),
  ...(kit.computer ? [lamp, smell(kit), sound] : []),
  when,
  ...(kit.drive ? [driveLamp(kit), driveNoise(kit)] : []),
  ...(kit.terminal ? [typing(kit)] : []),
];

const screen = ({ terminal }: TestKit): Test => {
  const paper = terminal?.display === "paper";
  const name = terminal?.name ?? "the display";
  return test({
    id: "screen",
    kind: "look",
    link: "terminal",
    title: `Look at ${name}`,
    how: [`Switch on, ${name} first, wait until nothing changes any more, and look at ${name}.`],
    outcomes: [
      outcome("works", "everything comes as it should", "it works"),
      paper
        ? outcome("dark", "no motor, no light", "dead terminal")
        : outcome("dark", "dark, no light at all", "dark screen"),
      paper
        ? outcome("blank", "nothing is printed", "nothing printed")
        : outcome("blank", "lit, but no text", "empty screen"),
      outcome("garbage", "signs without sense", "garbage"),
      outcome("banner", "the first line, then nothing", "banner, then nothing"),
      outcome("disk-error", "a message that the disk cannot be read", "disk error"),
      outcome("loading", "it loads, then stops", "stops while loading"),
      outcome("no-keys", "a prompt, but keys do nothing", "prompt, but keys do nothing"),
      outcome("holes", "text with characters missing", "characters lost"),
    ],
    minutes: 1,
    misleads: 0.01,
    chances: (fault) => {
      const wild = fault.manner === "wrong" || fault.node === "rom" || fault.node === "ram";
      const mixed = fault.manner === "sometimes" ? 0.3 : 0;
      return inTurn(
        fault,
        [
          ["terminal", [0, 0.95, 0.05, 0, 0, 0, 0, 0, 0]],
          ["settings", [0, 0, 0.08, 0.9, 0, 0, 0, 0, 0.02]],
          ["portClock", fault.manner === "wrong" ? [0, 0, 0.1, 0.9, 0, 0, 0, 0, 0] : [0, 0, 1, 0, 0, 0, 0, 0, 0]],
          ["shown", [0, 0, 0.9, wild ? 0.2 : 0.03, 0.03, 0, 0, 0, mixed]],
          ["read", [0, 0, 0, 0, 0.45, 0.55, 0, 0, 0]],
          ["boot", [0, 0, 0, 0, 0.12, 0.3, 0.58, 0, 0]],
          ["system", [0, 0, 0, 0, 0.1, 0.05, 0.85, 0, 0]],
          ["typed", [0, 0, 0, 0, 0, 0, 0, 1, mixed]],
          ["login", [0, 0, 0, 0, 0, 0, 0.5, 0.5, 0]],
          ["flow", [0, 0, 0.05, 0.05, 0, 0, 0.05, 0, 0.85]],
        ],
        [1, 0, 0, 0, 0, 0, 0, 0, 0],
      );
    },
  });
};

const lamp = test({
  id: "lamp",
  kind: "look",
  link: "board",
  title: "Look at the computer's lamp",
  how: ["Is its lamp lit; does the transformer hum or a fan turn?"],
  outcomes: [outcome("lit", "lit", "power lamp lit"), outcome("dark", "dark, no sound", "power lamp dark")],
  minutes: 0.5,
  chances: (fault) => {
    const off = Math.max(fault.stops("raw") * 0.97, fault.stops("supply") * 0.5 * (fault.manner === "dead" ? 1 : 0.2));
    return [1 - off, off];
  },
});

/** How often each kind of cause makes itself smelt or felt (judgement). */
const HOT: Readonly<Record<string, number>> = {
  short: 0.4,
  transformer: 0.3,
  regulator: 0.25,
  overload: 0.3,
  filter: 0.12,
  "terminal-supply": 0.15,
  "drive-supply": 0.15,
  fitting: 0.15,
  chip: 0.02,
};

const smell = (kit: TestKit): Test =>
  test({
    id: "smell",
    kind: "look",
    link: "board",
    title: "Smell and listen",
    how: ["Nose over the slots, hand on the switch: switch off at once at smoke, crackling or a burnt smell."],
    outcomes: [
      outcome("nothing", "nothing unusual"),
      outcome("burnt", "burnt smell, smoke or crackling", "burnt smell"),
    ],
    minutes: 0.5,
    hazards: kit.computer?.mains === "inside" ? ["mains"] : [],
    chances: ({ cause }) => {
      const share = HOT[cause.kind] ?? 0.005;
      return [1 - share, share];
    },
  });

const sound = test({
  id: "sound",
  kind: "look",
  link: "board",
  title: "Listen to its bell or loudspeaker",
  how: ["Does it sound at the start as it always did?"],
  outcomes: [
    outcome("usual", "as always", "usual sound"),
    outcome("silent", "silent, though it used to sound", "no sound"),
    outcome("steady", "one tone that does not end", "steady tone"),
  ],
  minutes: 0.5,
  misleads: 0.08,
  chances: (fault) => {
    const off = fault.stops("supply");
    const stuck = Math.max(0, fault.stops("cpu") - off);
    const share = [(1 - off - stuck) * 0.96 + stuck * 0.2, off + stuck * 0.5 + (1 - off - stuck) * 0.03, stuck * 0.3];
    return [...share.slice(0, 2), share[2]! + 0.01];
  },
});

const when = test({
  id: "when",
  kind: "look",
  link: "board",
  title: "Find out when it fails",
  how: ["Start it five times: cold, and again after a quarter of an hour. Does it make a difference?"],
  outcomes: [
    outcome("always", "always the same", "always"),
    outcome("cold-only", "works while cold, fails when warm", "works cold only"),
    outcome("warm-only", "works only once it is warm", "works warm only"),
    outcome("sometimes", "now and then", "now and then"),
  ],
  minutes: 15,
  misleads: 0.05,
  chances: ({ manner }) =>
    ({
      dead: [0.96, 0.01, 0.01, 0.02],
      wrong: [0.85, 0.03, 0.03, 0.09],
      warm: [0.08, 0.75, 0.02, 0.15],
      cold: [0.1, 0.02, 0.73, 0.15],
      sometimes: [0.12, 0.07, 0.06, 0.75],
    })[manner],
});

const driveLamp = ({ drive }: TestKit): Test =>
  test({
    id: "drive-lamp",
    kind: "look",
    link: "drive",
    title: `Watch the lamp of ${drive!.name}`,
    how: [`Start, and watch the lamp of ${drive!.name} for half a minute.`],
    outcomes: [
      outcome("off", "never lit", "drive light off"),
      outcome("comes and goes", "comes and goes as it reads", "drive light comes and goes"),
      outcome("stays", "stays on", "drive light on"),
    ],
    minutes: 1,
    misleads: 0.03,
    chances: (fault) =>
      inTurn(
        fault,
        [
          ["drivePower", [1, 0, 0]],
          ["driveLogic", [0.45, 0.1, 0.45]],
          ["cpu", [0.75, 0, 0.25]],
          ["ram", [0.6, 0.25, 0.15]],
          ["controller", [0.75, 0.1, 0.15]],
          ["bus", [0.8, 0.05, 0.15]],
          ["spin", [0.1, 0.2, 0.7]],
          ["arm", [0.05, 0.35, 0.6]],
          ["read", [0.02, 0.6, 0.38]],
        ],
        [0.02, 0.96, 0.02],
      ),
  });

const driveNoise = ({ drive }: TestKit): Test =>
  test({
    id: "drive-noise",
    kind: "look",
    link: "drive",
    title: `Listen to ${drive!.name}`,
    how: [`Start, ear near ${drive!.name}: does it turn, does the head step, does it try the same again and again?`],
    outcomes: [
      outcome("silent", "silent", "drive silent"),
      outcome("turns", "turns, no step", "drive turns, head does not step"),
      outcome("reads", "steps and reads evenly", "drive reads evenly"),
      outcome("again", "goes back and tries again and again", "drive tries again and again"),
    ],
    minutes: 1,
    misleads: 0.03,
    chances: (fault) =>
      inTurn(
        fault,
        [
          ["drivePower", [1, 0, 0, 0]],
          ["driveLogic", [0.4, 0.45, 0, 0.15]],
          ["cpu", [0.8, 0.2, 0, 0]],
          ["ram", [0.55, 0.2, 0.2, 0.05]],
          ["controller", [0.7, 0.25, 0, 0.05]],
          ["bus", [0.75, 0.22, 0, 0.03]],
          ["spin", fault.manner === "dead" ? [0.9, 0.1, 0, 0] : [0.02, 0.1, 0.08, 0.8]],
          ["arm", [0.02, 0.65, 0, 0.33]],
          ["read", [0, 0.06, 0.04, 0.9]],
          ["boot", [0, 0.02, 0.78, 0.2]],
        ],
        [0.01, 0.01, 0.96, 0.02],
      ),
  });

const typing = ({ terminal }: TestKit): Test => {
  /** Keys come back only where what is shown is shown. */
  const chances = (fault: FaultInPlace): number[] =>
    inTurn(
      fault,
      [
        ["terminal", [0, 1, 0, 0]],
        ["settings", [0, 0.3, 0.68, 0.02]],
        ["portClock", fault.manner === "wrong" ? [0, 0.2, 0.8, 0] : [0, 1, 0, 0]],
        ["shown", [0, 0.97, 0.02, 0.01]],
        ["typed", fault.manner === "sometimes" ? [0.2, 0.3, 0.05, 0.45] : [0, 0.97, 0.02, 0.01]],
        ["flow", [0.1, 0.05, 0.05, 0.8]],
      ],
      [1, 0, 0, 0],
    );
  return test({
    id: "typing",
    kind: "look",
    link: "terminal",
    title: "Type to the monitor",
    how: [`Without a disk, type all letters and digits at ${terminal!.name}; look at what comes back.`],
    outcomes: [
      outcome("same", "comes back as typed", "keys come back"),
      outcome("nothing", "nothing comes back", "keys do nothing"),
      outcome("other", "other signs come back", "wrong letters"),
      outcome("some", "some are missing", "keys get lost"),
    ],
    minutes: 2,
    chances,
  });
};
