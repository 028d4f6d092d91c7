import type { BenchBoard, BenchChip, BenchComputer, BenchRegion } from "../../../bench/index.ts";
import type { CauseDraft, FaultRow, Kit } from "../kit.ts";
import { RATES, WEAR } from "../rates.ts";

type Role =
  | "cpu"
  | "rom"
  | "ram"
  | "banks"
  | "uart"
  | "other port"
  | "controller"
  | "interrupt"
  | "driver"
  | "receiver"
  | "address buffer"
  | "data buffer"
  | "decoder"
  | "multiplexer"
  | "latch"
  | "translation"
  | "counter"
  | "flip-flop"
  | "gate";

/** What a chip in each place takes away when it fails; shares are judgements. */
const FAULTS: Readonly<Record<Role, readonly FaultRow[]>> = {
  cpu: [
    ["cpu", "dead", 0.75],
    ["cpu", "warm", 0.15],
    ["cpu", "wrong", 0.1],
  ],
  rom: [
    ["rom", "wrong", 0.65],
    ["rom", "dead", 0.2],
    ["rom", "warm", 0.15],
  ],
  ram: [
    ["ram", "wrong", 0.65, 0.8],
    ["ram", "dead", 0.1],
    ["ram", "warm", 0.15],
    ["ram", "sometimes", 0.1],
  ],
  banks: [
    ["banks", "wrong", 0.7, 0.8],
    ["banks", "warm", 0.18],
    ["banks", "sometimes", 0.12],
  ],
  uart: [
    ["uart", "dead", 0.7],
    ["receiver", "dead", 0.2],
    ["uart", "wrong", 0.1],
  ],
  "other port": [
    ["data", "dead", 0.7],
    ["interrupt", "dead", 0.3],
  ],
  controller: [
    ["controller", "dead", 0.75],
    ["controller", "wrong", 0.15],
    ["controller", "warm", 0.1],
  ],
  interrupt: [
    ["interrupt", "dead", 0.8],
    ["data", "dead", 0.2],
  ],
  driver: [
    ["driver", "dead", 0.85],
    ["driver", "warm", 0.15],
  ],
  receiver: [
    ["receiver", "dead", 0.85],
    ["receiver", "sometimes", 0.15],
  ],
  "address buffer": [
    ["address", "dead", 0.85],
    ["address", "warm", 0.15],
  ],
  "data buffer": [
    ["data", "dead", 0.85],
    ["data", "warm", 0.15],
  ],
  decoder: [
    ["select", "dead", 0.75],
    ["select", "wrong", 0.15],
    ["select", "warm", 0.1],
  ],
  multiplexer: [
    ["strobes", "dead", 0.85],
    ["strobes", "warm", 0.15],
  ],
  latch: [
    ["banks", "dead", 0.85],
    ["banks", "sometimes", 0.15],
  ],
  // Out of the way until the system switches it on, but the CPU's address goes through it.
  translation: [
    ["banks", "dead", 0.6],
    ["address", "dead", 0.3],
    ["banks", "warm", 0.1],
  ],
  counter: [
    ["strobes", "dead", 0.4],
    ["clock", "dead", 0.3],
    ["portClock", "dead", 0.3],
  ],
  "flip-flop": [
    ["strobes", "dead", 0.35],
    ["clock", "dead", 0.35],
    ["interrupt", "dead", 0.2],
    ["reset", "dead", 0.1],
  ],
  gate: [
    ["select", "dead", 0.35],
    ["clock", "dead", 0.25],
    ["reset", "dead", 0.2],
    ["strobes", "dead", 0.2],
  ],
};

/** What a logic part is for on such a board, by the number of its type (common practice, no source). */
const LOGIC: readonly (readonly [Role, readonly string[]])[] = [
  ["address buffer", ["240", "241", "244", "365", "366", "367", "368", "541"]],
  ["data buffer", ["242", "243", "245", "640", "645"]],
  ["decoder", ["42", "138", "139", "145", "154", "155", "156"]],
  ["multiplexer", ["151", "153", "157", "158", "257", "258"]],
  ["latch", ["75", "173", "174", "175", "259", "273", "373", "374", "377", "574"]],
  ["counter", ["90", "93", "160", "161", "162", "163", "190", "191", "192", "193", "390", "393"]],
  ["flip-flop", ["73", "74", "76", "107", "109", "112"]],
];

function logicRole(part: string, board: BenchBoard): Role {
  const number = /^(?:SN)?74[A-Z]*(\d+)/i.exec(part)?.[1] ?? "";
  const role = LOGIC.find(([, numbers]) => numbers.includes(number))?.[0] ?? "gate";
  // On an added board every buffer and multiplexer stands between the CPU and memory.
  return board.added && role !== "data buffer" ? "translation" : role;
}

function roleOf(kit: Kit, board: BenchBoard, { part, place = "", chip }: BenchChip, ports: number): Role {
  const near = place.toLowerCase();
  switch (chip?.kind) {
    case "cpu":
      return "cpu";
    case "memory":
      return chip.memory?.type === "EPROM" ? "rom" : chip.memory?.type === "register file" ? "translation" : "ram";
    case "uart":
      return ports < 2 || near.includes((kit.port?.name ?? "console").toLowerCase()) ? "uart" : "other port";
    case "parallel port":
      return kit.bus && near.includes(kit.bus.name.toLowerCase()) ? "controller" : "other port";
    case "timer":
      return "interrupt";
    case "line driver":
      return "driver";
    case "line receiver":
      return "receiver";
    default:
      return logicRole(part, board);
  }
}

function rateOf(role: Role, { chip }: BenchChip): { each: number; words: string } {
  const of = (each: number, words: string, wear = 1) => ({
    each: each * wear,
    words: `${words}, ${each} failures in 10⁶ h${wear === 1 ? "" : ` × ${wear} for age (judgement)`}`,
  });
  const lines = { driver: "line driver, linear", receiver: "line receiver, linear" } as const;
  if (role === "cpu") return of(RATES.microprocessor, "microprocessor of 8 bits");
  if (role === "rom") return of(RATES.erasable, "erasable memory", WEAR.erasable);
  if (role === "driver" || role === "receiver") return of(RATES.linear, lines[role], WEAR.linear);
  if (chip?.memory?.type === "dynamic") return of(RATES.dynamic, "dynamic memory", WEAR.dynamic);
  if (chip?.memory?.type === "static") return of(RATES.static, "static memory");
  if (chip?.kind === "uart" || chip?.kind === "parallel port" || chip?.kind === "timer")
    return of(RATES.port, "port or timer, 1,001 to 3,000 gates");
  return of(RATES.gates, "bipolar logic");
}

const LINKS: Readonly<Partial<Record<Role, CauseDraft["link"]>>> = {
  ram: "memory",
  banks: "memory",
  rom: "memory",
  latch: "memory",
  uart: "port",
  driver: "port",
  receiver: "port",
  controller: "bus",
};

/** How much a chip that has nothing to do with the start still spoils: it must pull the shared lines down. */
const ASIDE = 0.25;

function chipCause(
  board: BenchBoard | undefined,
  each: BenchChip,
  role: Role,
  name: string,
  count: number,
): CauseDraft {
  const { each: rate, words } = rateOf(role, each);
  const socketed = each.socketed === true;
  return {
    id: `chip/${board?.name ?? "computer"}/${name}`,
    link: LINKS[role] ?? "board",
    part: count > 1 ? `one of ${count} ${name}` : name,
    class: "part",
    weight: rate * count * (role === "other port" ? ASIDE : 1),
    rate: `${words}${count > 1 ? ` × ${count} of them` : ""}`,
    faults: FAULTS[role],
    remedy: `${socketed ? "Power off, strap on; change" : "Power off, strap on; have someone with a steady hand unsolder and change"} ${name}${board ? ` on ${board.name}` : ""}.`,
    hazards: ["static"],
    at: each.path,
    socketed,
    ...(board ? { board: board.name } : {}),
  };
}

interface Placed {
  place: string;
  region: BenchRegion;
}

/** Places of memory chips that the map names, by board and part. */
const placesOf = (computer: BenchComputer, board: BenchBoard, part: string): Placed[] =>
  computer.regions
    .filter((region) => (region.board ?? board.name) === board.name && region.chips === part && !region.shares)
    .flatMap((region) => (region.places ?? []).map((place) => ({ place, region })));

/** Every chip of every board: those with places one by one, the others by type. */
export function chipCauses(kit: Kit): CauseDraft[] {
  const { computer } = kit;
  if (!computer) return [];
  const causes: CauseDraft[] = [];
  for (const board of computer.boards) {
    const ports = board.chips.filter(({ chip }) => chip?.kind === "uart").length;
    for (const each of board.chips) {
      if (each.chip?.kind === "regulator") continue;
      const role = roleOf(kit, board, each, ports);
      const placed = role === "ram" || role === "rom" ? placesOf(computer, board, each.part) : [];
      const one = { ...each, count: 1 };
      for (const { place, region } of placed)
        causes.push(
          chipCause(
            board,
            one,
            role === "ram" && region.kind === "window" ? "banks" : role,
            `${place} (${each.part})`,
            1,
          ),
        );
      const left = each.count - placed.length;
      const name = [each.part, each.place].filter((text) => text !== undefined && text !== "").join(", ");
      if (left > 0) causes.push(chipCause(board, each, role, name, left));
    }
  }
  if (computer.boards.length === 0) causes.push(...chipsWithoutBoards(kit, computer));
  return causes;
}

/** A bench that names no board still says what its CPU, memory and port are. */
function chipsWithoutBoards(kit: Kit, { cpu, regions }: BenchComputer): CauseDraft[] {
  const chip = (role: Role, name: string, found: BenchChip["chip"], path: string, count = 1): CauseDraft =>
    chipCause(undefined, { path, part: name, count, ...(found ? { chip: found } : {}) }, role, name, count);
  return [
    ...(cpu ? [chip("cpu", cpu.part ?? "CPU", cpu.chip, "computer.cpu")] : []),
    ...regions.flatMap(({ name, kind, chip: found, path, shares }) =>
      kind === "io" || shares
        ? []
        : [chip(kind === "rom" ? "rom" : kind === "window" ? "banks" : "ram", `memory of ${name}`, found, path)],
    ),
    ...(kit.port ? [chip("uart", kit.port.uart ?? "serial port", kit.port.chip, kit.port.path)] : []),
    ...(kit.port?.driver ? [chip("driver", kit.port.driver.part, kit.port.driver.chip, kit.port.path)] : []),
    ...(kit.port?.receiver ? [chip("receiver", kit.port.receiver.part, kit.port.receiver.chip, kit.port.path)] : []),
  ];
}

/** What holds the chips: sockets, joints, the ribbon of an added board; and the few parts that are no chips. */
export function boardCauses(kit: Kit): CauseDraft[] {
  const { computer } = kit;
  if (!computer) return [];
  const chips = chipCauses(kit);
  return [
    {
      id: "oscillator",
      link: "board",
      part: "crystal and oscillator of the CPU's clock",
      class: "part",
      weight: RATES.crystal,
      rate: `quartz crystal, ${RATES.crystal} failures in 10⁶ h`,
      faults: [
        ["clock", "dead", 0.75],
        ["clock", "wrong", 0.15],
        ["clock", "cold", 0.1],
      ],
      remedy: "Power off, strap on; change the crystal, then the gates of its oscillator.",
      hazards: ["static"],
      at: "computer.cpu.clock",
    },
    {
      id: "reset-circuit",
      link: "board",
      part: "capacitor and resistor of the reset line",
      class: "part",
      weight: RATES.electrolytic * 1.5,
      rate: `small electrolytic, ${RATES.electrolytic} failures in 10⁶ h × 1.5 for age (judgement)`,
      faults: [
        ["reset", "dead", 0.5],
        ["reset", "cold", 0.25],
        ["reset", "sometimes", 0.25],
      ],
      remedy: "Power off, strap on; change the capacitor of the reset line.",
      hazards: ["static"],
    },
    ...chips
      .filter((each) => each.socketed)
      .map(
        (each): CauseDraft => ({
          ...each,
          id: each.id.replace(/^chip/, "socket"),
          part: `socket of ${each.part}`,
          class: "contact",
          weight: RATES.socket * WEAR.socket,
          rate: `socket, ${RATES.socket} failures in 10⁶ h × ${WEAR.socket} for tarnish (judgement)`,
          faults: each.faults.slice(0, 1).flatMap(([node]): FaultRow[] => [
            [node, "sometimes", 0.6],
            [node, "dead", 0.4],
          ]),
          remedy: `Power off, strap on; lift the chip, clean its legs, and press it home.`,
        }),
      ),
    ...computer.boards.flatMap((board): CauseDraft[] => {
      const about = { about: board.name, at: board.path, board: board.name, hazards: ["static"] } as const;
      const joint: CauseDraft = {
        ...about,
        id: `joint/${board.name}`,
        link: "board",
        part: `a joint or trace of ${board.name}`,
        class: "contact",
        weight: 0.04,
        faults: [
          ["address", "sometimes", 0.25],
          ["data", "sometimes", 0.25],
          ["select", "sometimes", 0.2],
          ["strobes", "sometimes", 0.15],
          ["clock", "sometimes", 0.15],
        ],
        remedy: `Power off; look at ${board.name} with a magnifier and light from the side, and solder dull or cracked joints anew.`,
      };
      if (!board.added) return [joint];
      return [
        joint,
        {
          ...about,
          id: `ribbon/${board.name}`,
          link: "board",
          part: `plug or ribbon of ${board.name}`,
          class: "contact",
          weight: 0.06,
          faults: [
            ["address", "sometimes", 0.3],
            ["data", "sometimes", 0.3],
            ["cpu", "dead", 0.4],
          ],
          remedy: `Power off, strap on; take ${board.name} out, look for bent legs, and put it back square.`,
          checks: ["board-fitting", "supply-drop"],
        },
        {
          ...about,
          id: `fitting/${board.name}`,
          link: "board",
          part: `${board.name} fitted turned round, or a link of it left as it was`,
          class: "contact",
          weight: 0.05,
          faults: [
            ["cpu", "dead", 0.5],
            ["select", "dead", 0.5],
          ],
          remedy: `Power off. Compare pin 1 and every link with \`rouse boards JOB\` and with the photographs.`,
          checks: ["board-fitting"],
        },
      ];
    }),
    {
      id: "timing",
      link: "board",
      part: "bus timing or loading without margin",
      class: "system",
      weight: 0.12,
      faults: [
        ["data", "warm", 0.5],
        ["ram", "sometimes", 0.5],
      ],
      remedy: "Run the CPU's clock slower, or fit faster memory; `rouse boards JOB` shows where the margin went.",
      checks: ["bus-timing", "fan-out"],
      hazards: ["static"],
    },
  ];
}
