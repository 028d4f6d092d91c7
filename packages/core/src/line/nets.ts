import type { BenchCable, LineEnd } from "../bench/index.ts";
import type { Chip, Connector, LevelFamily } from "../catalogue/index.ts";
import { type LevelMeeting, meet } from "./levels.ts";

/**
 * A cable as electrical nets. Each end's pins carry V.24 circuits; who drives a circuit follows from the role: a DTE
 * drives TxD, RTS and DTR; a DCE has the same circuits on the same pins and drives the others.
 */

export type EndName = "from" | "to";

export interface Pin {
  end: EndName;
  pin: number;
  /** Circuit on the pin; undefined where nothing is connected inside. */
  circuit?: string;
  direction: "drives" | "listens" | "common" | "open";
}

export interface Net {
  pins: readonly Pin[];
  drivers: readonly Pin[];
  listeners: readonly Pin[];
}

type Pair = readonly [number, number];

/** The wiring of a cable by pin: wires as [pin at from, pin at to], and jumpers inside either plug. */
export interface Wiring {
  wires: readonly Pair[];
  jumpersFrom: readonly Pair[];
  jumpersTo: readonly Pair[];
}

/** A cable taken apart into nets, or the keys that are missing for it. */
export type CableNets = { known: true; nets: readonly Net[]; wiring: Wiring } | { known: false; missing: string[] };

/**
 * Circuits by which a named cable is wired: the connector's usual ones, whatever this machine makes of them; a connector
 * that has no usual ones (DIN, edge) is wired for its machine.
 */
function usualCircuits(end: LineEnd, connector: Connector): readonly { name: string; pin: number }[] {
  return connector.circuits.length > 0 ? connector.circuits : [...end.pins].map(([pin, name]) => ({ name, pin }));
}

/** Wires and jumpers of a named kind of cable, by circuit. */
const CROSSED: readonly (readonly [string, string])[] = [
  ["TxD", "RxD"],
  ["RxD", "TxD"],
  ["SG", "SG"],
];
const NAMED: Readonly<
  Record<string, { wires: readonly (readonly [string, string])[]; jumpers: readonly (readonly [string, string])[] }>
> = {
  "null modem": {
    wires: [...CROSSED, ["RTS", "CTS"], ["CTS", "RTS"], ["DTR", "DSR"], ["DTR", "DCD"], ["DSR", "DTR"], ["DCD", "DTR"]],
    jumpers: [],
  },
  "null modem, looped handshake": {
    wires: CROSSED,
    jumpers: [
      ["RTS", "CTS"],
      ["DTR", "DSR"],
      ["DTR", "DCD"],
    ],
  },
  "three wires, crossed": { wires: CROSSED, jumpers: [] },
  "three wires": {
    wires: [
      ["TxD", "TxD"],
      ["RxD", "RxD"],
      ["SG", "SG"],
    ],
    jumpers: [],
  },
};

type CableOfKind = BenchCable & { kind: NonNullable<BenchCable["kind"]> };

function wiringOf(cable: CableOfKind, from: Connector, to: Connector): Wiring {
  const { jumpersFrom, jumpersTo } = cable;
  if (cable.kind === "wired") return { wires: cable.wires ?? [], jumpersFrom, jumpersTo };
  if (cable.kind === "straight" && from.id === to.id)
    return { wires: Array.from({ length: from.pins }, (_, index) => [index + 1, index + 1]), jumpersFrom, jumpersTo };
  const [left, right] = [usualCircuits(cable.from, from), usualCircuits(cable.to, to)];
  const both = (pairs: readonly (readonly [string, string])[], ones: typeof left, others: typeof left) =>
    pairs.flatMap(([a, b]) => {
      const one = ones.find((each) => each.name === a);
      const other = others.find((each) => each.name === b);
      return one === undefined || other === undefined ? [] : [[one.pin, other.pin] as const];
    });
  if (cable.kind === "straight")
    return {
      wires: both(
        left.map(({ name }) => [name, name]),
        left,
        right,
      ),
      jumpersFrom,
      jumpersTo,
    };
  const named = NAMED[cable.kind]!;
  return {
    wires: both(named.wires, left, right),
    jumpersFrom: [...both(named.jumpers, left, left), ...jumpersFrom],
    jumpersTo: [...both(named.jumpers, right, right), ...jumpersTo],
  };
}

/** Which side drives each circuit (V.24). */
const DRIVEN_BY: Readonly<Record<string, "DTE" | "DCE" | "both">> = {
  TxD: "DTE",
  RTS: "DTE",
  DTR: "DTE",
  RxD: "DCE",
  CTS: "DCE",
  DSR: "DCE",
  DCD: "DCE",
  RI: "DCE",
  TC: "DCE",
  RC: "DCE",
  XTC: "DTE",
  DSRS: "DTE",
  SG: "both",
  shield: "both",
};

/** What an end does with a pin. Where the bench lists an end's pins, those it does not list are not connected. */
export function pinOf(end: LineEnd, name: EndName, pin: number): Pin {
  const circuit =
    end.pins.size > 0 ? end.pins.get(pin) : end.connector?.circuits.find((each) => each.pin === pin)?.name;
  const from = circuit === undefined ? undefined : DRIVEN_BY[circuit];
  if (circuit === undefined || from === undefined) return { end: name, pin, direction: "open" };
  if (from === "both") return { end: name, pin, circuit, direction: "common" };
  return { end: name, pin, circuit, direction: from === end.role ? "drives" : "listens" };
}

/** Joins wires and jumpers into nets; pins that nothing reaches stand alone, so that a floating input is seen. */
export function cableNets(cable: BenchCable): CableNets {
  const missing: string[] = [];
  for (const end of [cable.from, cable.to]) {
    if (!end.connector) missing.push(`${end.path}.connector`);
    if (!end.role) missing.push(`${end.path}.role`);
  }
  const { kind } = cable;
  if (!kind) missing.push(`${cable.path}.kind`);
  const { connector: from } = cable.from;
  const { connector: to } = cable.to;
  if (missing.length > 0 || !from || !to || !kind) return { known: false, missing };
  const wiring = wiringOf({ ...cable, kind }, from, to);
  const { wires, jumpersFrom, jumpersTo } = wiring;

  const parent = new Map<string, string>();
  const key = (end: EndName, pin: number) => `${end} ${pin}`;
  const root = (each: string): string => {
    let at = each;
    while (parent.get(at) !== at && parent.has(at)) at = parent.get(at)!;
    return at;
  };
  for (let pin = 1; pin <= from.pins; pin++) parent.set(key("from", pin), key("from", pin));
  for (let pin = 1; pin <= to.pins; pin++) parent.set(key("to", pin), key("to", pin));
  const join = (one: string, other: string) => {
    if (parent.has(one) && parent.has(other)) parent.set(root(one), root(other));
  };
  for (const [a, b] of wires) join(key("from", a), key("to", b));
  for (const [a, b] of jumpersFrom) join(key("from", a), key("from", b));
  for (const [a, b] of jumpersTo) join(key("to", a), key("to", b));

  const groups = new Map<string, Pin[]>();
  for (const each of parent.keys()) {
    const [end, number] = each.split(" ") as [EndName, string];
    const group = groups.get(root(each)) ?? [];
    group.push(pinOf(end === "from" ? cable.from : cable.to, end, Number(number)));
    groups.set(root(each), group);
  }
  const nets = [...groups.values()].map((pins) => ({
    pins,
    drivers: pins.filter((pin) => pin.direction === "drives"),
    listeners: pins.filter((pin) => pin.direction === "listens"),
  }));
  return { known: true, nets, wiring };
}

export interface CableProblem {
  code: "drivers-fight" | "no-ground" | "no-data" | "never-asserted" | "shield-as-ground" | "may-hold";
  /** Whether the line cannot work at all, or only badly. */
  grave: boolean;
  sentence: string;
}

/** Circuit on which an end sends or receives data. */
export const dataCircuit = (end: Pick<LineEnd, "role">, way: "out" | "in"): "TxD" | "RxD" =>
  (end.role === "DTE") === (way === "out") ? "TxD" : "RxD";

/** Circuit by which an end says that it is ready to receive, and the one it waits for before it sends. */
export const readyCircuit = (end: Pick<LineEnd, "role">, way: "out" | "in"): "RTS" | "CTS" =>
  (end.role === "DTE") === (way === "out") ? "RTS" : "CTS";

/** Parts that send nothing while their CTS input is off (data sheets): an open V.28 receiver reads as off. */
const HELD_BY_CTS: readonly string[] = ["6850", "6551", "8251"];

/** Whether the part itself may wait for CTS though the bench does not say how the end shakes hands. */
export const mayHold = (end: LineEnd & { chip?: Chip }): boolean =>
  end.handshake === undefined && end.role === "DTE" && HELD_BY_CTS.includes(end.chip?.uart?.kind ?? "");

/** "TxD (pin 2)" where both ends have the same pin, else each pin with its end. */
function fightInWords(net: Net, cable: BenchCable): string {
  const [first] = net.drivers;
  if (net.drivers.every((pin) => pin.pin === first!.pin && pin.circuit === first!.circuit))
    return `${first!.circuit} (pin ${first!.pin})`;
  return net.drivers.map((pin) => `${pin.circuit} on pin ${pin.pin} of ${cable[pin.end].name}`).join(" against ");
}

/** What is wrong with the nets of a cable between its two ends. An empty list means that data and handshake pass. */
export function cableProblems(cable: BenchCable, nets: readonly Net[]): CableProblem[] {
  const problems: CableProblem[] = [];
  const endOf = (name: EndName) => (name === "from" ? cable.from : cable.to);
  const fights = nets.filter((net) => new Set(net.drivers.map((pin) => pin.end)).size > 1);
  if (fights.length > 0)
    problems.push({
      code: "drivers-fight",
      grave: fights.some((net) => net.drivers.some((pin) => pin.circuit === "TxD" || pin.circuit === "RxD")),
      sentence: `both ends drive the same wire: ${fights.map((net) => fightInWords(net, cable)).join(", ")}`,
    });
  const holds = (net: Net, end: EndName, circuit: string) =>
    net.pins.some((pin) => pin.end === end && pin.circuit === circuit);
  const joined = (circuit: string, other: string) =>
    nets.some((net) => holds(net, "from", circuit) && holds(net, "to", other));
  if (!joined("SG", "SG")) {
    const shield = joined("shield", "shield") || joined("SG", "shield") || joined("shield", "SG");
    problems.push(
      shield
        ? {
            code: "shield-as-ground",
            grave: false,
            sentence: "only the shield joins the two grounds; signal ground is not wired through",
          }
        : { code: "no-ground", grave: true, sentence: "signal ground is not wired from end to end" },
    );
  }
  for (const [talker, listener] of [
    ["from", "to"],
    ["to", "from"],
  ] as const) {
    const out = dataCircuit(endOf(talker), "out");
    const into = dataCircuit(endOf(listener), "in");
    if (!nets.some((net) => holds(net, talker, out) && holds(net, listener, into)))
      problems.push({
        code: "no-data",
        grave: true,
        sentence: `what ${endOf(talker).name} sends (${out}) never reaches what ${endOf(listener).name} listens to (${into})`,
      });
  }
  for (const name of ["from", "to"] as const) {
    const end = endOf(name);
    const holding = mayHold(end);
    if (end.handshake !== "lines" && !holding) continue;
    const circuit = readyCircuit(end, "in");
    const net = nets.find((each) => holds(each, name, circuit));
    if (!net || net.drivers.length > 0) continue;
    problems.push(
      holding
        ? {
            code: "may-hold",
            grave: false,
            sentence: `the serial part of ${end.name} sends nothing while CTS is off, and nothing drives CTS (unless its board ties it: then say “handshake: none”)`,
          }
        : {
            code: "never-asserted",
            grave: true,
            sentence: `${end.name} waits for ${circuit}, which nothing drives`,
          },
    );
  }
  return problems;
}

/** One circuit of a cable: who drives it, who listens, with which levels, and what comes of it. */
export interface CircuitMeeting {
  driver: Pin;
  driverLevels?: LevelFamily;
  listener: Pin;
  listenerLevels?: LevelFamily;
  /** Undefined where the levels of an end are not given. */
  meeting?: LevelMeeting;
}

/** Every driver with every listener that it reaches, within one plug as well. */
export function cableCircuits(cable: BenchCable, nets: readonly Net[]): CircuitMeeting[] {
  const levels = (pin: Pin) => (pin.end === "from" ? cable.from : cable.to).levels;
  return nets.flatMap((net) =>
    net.drivers.flatMap((driver) =>
      net.listeners.map((listener): CircuitMeeting => {
        const [driverLevels, listenerLevels] = [levels(driver), levels(listener)];
        return {
          driver,
          listener,
          ...(driverLevels && { driverLevels }),
          ...(listenerLevels && { listenerLevels }),
          ...(driverLevels && listenerLevels && { meeting: meet(driverLevels, listenerLevels) }),
        };
      }),
    ),
  );
}
