import type { Bench, BenchCable, BenchPort, BenchTerminal } from "../bench/index.ts";
import { dataCircuit, type EndName, portRate } from "../line/index.ts";
import { type Drive, type Joined, joinedBy } from "./cable.ts";
import { frameOf, type Setting } from "./frames.ts";
import { lackOf, uartOf } from "./parts.ts";
import { Station } from "./station.ts";
import type { Uart } from "./uart.ts";
import type { Host } from "./unit.ts";
import { Ear, Wire } from "./wire.ts";

/** A port with the part behind it. */
interface WiredPort {
  port: BenchPort;
  uart: Uart;
}

/** All serial parts, terminals and wires of a bench. */
export interface Wiring {
  ports: readonly WiredPort[];
  stations: readonly Station[];
  wires: readonly Wire[];
  /** Lets the wires of control circuits follow what the parts assert. */
  followControls(): void;
  assumed: readonly string[];
}

/** One end of a cable with its wires, by circuit. */
interface End {
  out: Wire;
  controls: Map<string, Wire>;
  asserts(circuit: string): boolean;
}

const silent = (): End => ({ out: new Wire(), controls: new Map(), asserts: () => false });

/** Circuits that say “ready to receive”, and those that say “switched on”. */
const READY: ReadonlySet<string> = new Set(["RTS", "CTS"]);

/** Joins ports and terminals as the cables do. */
export function wire(bench: Bench, host: Host, keyTime: number): Wiring {
  const assumed: string[] = [];
  const ends = new Map<BenchPort | BenchTerminal, End>();
  const endOf = (each: BenchPort | BenchTerminal): End => {
    const end = ends.get(each) ?? silent();
    ends.set(each, end);
    return end;
  };
  const cableAt = new Map<BenchPort | BenchTerminal, { cable: BenchCable; joined: Joined }>();
  for (const cable of bench.cables) {
    if (cableAt.has(cable.from) || cableAt.has(cable.to)) {
      assumed.push(`${cable.name} is left out: one of its ends has a cable already.`);
      continue;
    }
    const joined = joinedBy(cable);
    assumed.push(...joined.assumed);
    cableAt.set(cable.from, { cable, joined });
    cableAt.set(cable.to, { cable, joined });
  }
  const wireOf = (cable: BenchCable, { end, circuit }: Drive): Wire => {
    const whose = cable[end];
    const { out, controls } = endOf(whose);
    if (circuit === dataCircuit(whose, "out")) return out;
    const known = controls.get(circuit) ?? new Wire();
    controls.set(circuit, known);
    return known;
  };
  const inputs = (each: BenchPort | BenchTerminal, end: EndName): { ear: Ear; clear: () => boolean } => {
    const there = cableAt.get(each);
    if (!there) return { ear: new Ear([]), clear: () => true };
    const { data, clear } = there.joined[end];
    const ear = new Ear(data.map((drive) => ({ wire: wireOf(there.cable, drive), inverted: drive.inverted })));
    if (!clear) return { ear, clear: () => true };
    const drivers = clear.map(({ end: whose, circuit }) => ({ end: endOf(there.cable[whose]), circuit }));
    return { ear, clear: () => drivers.some((drive) => drive.end.asserts(drive.circuit)) };
  };

  const ports: WiredPort[] = [];
  for (const port of bench.ports) {
    const lack = lackOf(port);
    if (lack !== undefined) {
      assumed.push(lack);
      continue;
    }
    const end = endOf(port);
    const uart = uartOf(host, port, { out: end.out, ...inputs(port, "from") });
    end.asserts = (circuit) => (READY.has(circuit) ? uart.rts : uart.dtr);
    ports.push({ port, uart });
  }
  const stations: Station[] = [];
  for (const terminal of bench.terminals) {
    const port = cableAt.get(terminal)?.cable.from;
    const setting = settingOf(terminal, port, host.hertz, assumed);
    const end = endOf(terminal);
    end.asserts = () => true;
    stations.push(new Station(host, terminal, setting, { out: end.out, keyTime, ...inputs(terminal, "to") }));
  }
  const controls = [...ends.values()].flatMap((end) =>
    [...end.controls].map(([circuit, each]) => ({ end, circuit, wire: each })),
  );
  return {
    ports,
    stations,
    wires: [...[...ends.values()].map(({ out }) => out), ...controls.map((each) => each.wire)],
    followControls() {
      // Asserted is the level of space (V.28).
      for (const each of controls) each.wire.set(host.now(), each.end.asserts(each.circuit) ? 0 : 1);
    },
    assumed,
  };
}

/** How a terminal is set: as the bench says, else as the port is. */
function settingOf(terminal: BenchTerminal, port: BenchPort | undefined, hertz: number, assumed: string[]): Setting {
  const made = port && portRate(port);
  const rate = terminal.rate?.value ?? (made?.known ? made.rate : undefined);
  if (terminal.rate === undefined)
    assumed.push(
      `${terminal.name} is set to ${rate === undefined ? "9,600 bit/s" : "the port's rate"}, since ${terminal.path}.rate is not given.`,
    );
  const format = terminal.format ?? port?.format;
  if (terminal.format === undefined)
    assumed.push(`${terminal.name} is set to ${format ?? "8N1"}, since ${terminal.path}.format is not given.`);
  return { frame: frameOf(format ?? "8N1"), bit: hertz / (rate ?? 9600) };
}
