import type { Bench, BenchCable, BenchChip, BenchImage, LineEnd } from "../bench/index.ts";
import { cableNets, type EndName, type Net, type Pin } from "../line/index.ts";
import { formatQuantity, type Quantity } from "../quantity/index.ts";

/** What the workbench draws: the things of the chain as they stand on the table, as plain data. */
export interface Drawing {
  image: { name: string; file: string; recording?: string; tracks?: number; sides?: number; others: number } | null;
  medium: { name: string; title: string; size?: string; sides?: number } | null;
  drive: { name: string; title: string; size?: string; sides?: number; tracks?: number; others: number } | null;
  bus: {
    name: string;
    kind: string;
    devices: readonly { name: string; address?: number }[];
    length?: string;
  } | null;
  computer: {
    name: string;
    cpu?: string;
    clock?: string;
    boards: readonly { name: string; added: boolean; chips: readonly DrawnChip[] }[];
    regions: readonly {
      name: string;
      kind: "ram" | "rom" | "io" | "window";
      from: number;
      to: number;
      banks?: number;
      /** A ROM's image. */
      file?: string;
    }[];
    translation: boolean;
    rails: readonly { name: string; limit?: string }[];
  } | null;
  port: {
    name: string;
    uart?: string;
    clock?: string;
    divide?: number;
    ratio?: number;
    format?: string;
    connector?: string;
  } | null;
  cable: DrawnCable | null;
  terminal: {
    name: string;
    title: string;
    columns?: number;
    rows?: number;
    rate?: string;
    display?: "picture tube" | "flat panel" | "paper";
  } | null;
  audience: { people?: number; distance?: string; target?: string } | null;
}

export interface DrawnChip {
  part: string;
  count: number;
  kind: string;
  place?: string;
}

export interface DrawnCable {
  name: string;
  kind: string;
  length?: string;
  from: DrawnEnd;
  to: DrawnEnd;
  /** Keys of the bench file without which the wires cannot be drawn. */
  missing: readonly string[];
  wires: readonly DrawnWire[];
  /** Pins of one end joined inside its plug. */
  jumpers: readonly { end: EndName; pins: readonly [number, number]; carries: Carries }[];
}

interface DrawnEnd {
  name: string;
  role?: string;
  connector?: string;
  pins: readonly { pin: number; circuit: string; direction: Pin["direction"] }[];
}

/** What a wire carries. `fight`: both ends drive it. `nothing`: no end drives it. */
export type Carries = "data" | "handshake" | "ground" | "fight" | "nothing";

interface DrawnWire {
  from: number;
  to: number;
  carries: Carries;
  /** The end that listens, where one does. */
  towards: EndName | "both" | null;
}

const textOf = (quantity: Quantity | undefined): string | undefined => quantity && formatQuantity(quantity);

/** Leaves out what nobody gave. */
const given = <T>(each: object): T =>
  Object.fromEntries(Object.entries(each).filter(([, value]) => value !== undefined)) as T;

/** The chain as the show uses it; where the bench does not say, the first thing of each kind. */
export function drawingOf(bench: Bench): Drawing {
  const { computer, show } = bench;
  const image: BenchImage | undefined = show?.image ?? bench.images[0];
  const drive = image?.drive ?? bench.drives[0];
  const medium = image?.medium ?? bench.media[0];
  const bus = bench.buses.find((each) => each.name === drive?.bus) ?? bench.buses[0];
  const port = show?.port ?? bench.ports[0];
  const terminal = show?.terminal ?? bench.terminals[0];
  const cable =
    bench.cables.find((each) => each.from.name === port?.name && each.to.name === terminal?.name) ?? bench.cables[0];
  const metres = bus?.cables.reduce((sum, each) => sum + each.length.value, 0);
  return {
    image: image
      ? given({
          name: image.name,
          file: image.file,
          recording: image.recording?.title,
          tracks: image.recording?.geometry.tracks,
          sides: image.recording?.geometry.sides,
          others: bench.images.length - 1,
        })
      : null,
    medium: medium
      ? given({ name: medium.name, title: medium.title, size: medium.size?.value, sides: medium.sides?.value })
      : null,
    drive: drive
      ? given({
          name: drive.name,
          title: drive.title,
          size: drive.size?.value,
          sides: drive.sides?.value,
          tracks: drive.tracks?.value,
          others: bench.drives.length - 1,
        })
      : null,
    bus: bus
      ? given({
          name: bus.name,
          kind: bus.kind,
          devices: bus.devices.map(({ name, address }) => given({ name, address })),
          length: metres ? `${Number(metres.toFixed(2))} m` : undefined,
        })
      : null,
    computer: computer
      ? given({
          name: computer.name,
          cpu: computer.cpu?.part,
          clock: textOf(computer.cpu?.clock),
          boards: computer.boards.map(({ name, added, chips }) => ({ name, added, chips: chips.map(drawnChip) })),
          regions: computer.regions.map(({ name, kind, from, to, banks, file }) =>
            given({ name, kind, from, to, banks, file }),
          ),
          translation: computer.translation !== undefined,
          rails: computer.rails.map(({ name, limit }) => given({ name, limit: textOf(limit) })),
        })
      : null,
    port: port
      ? given({
          name: port.name,
          uart: port.uart,
          clock: textOf(port.clock),
          divide: port.divide ?? port.divisor,
          ratio: port.ratio,
          format: port.format,
          connector: port.connector?.title,
        })
      : null,
    cable: cable ? drawnCable(cable) : null,
    terminal: terminal
      ? given({
          name: terminal.name,
          title: terminal.title,
          columns: terminal.columns?.value,
          rows: terminal.rows?.value,
          rate: textOf(terminal.rate),
          display: terminal.display,
        })
      : null,
    audience: show ? given({ people: show.people, distance: textOf(show.distance), target: show.target }) : null,
  };
}

const drawnChip = ({ part, count, place, chip }: BenchChip): DrawnChip =>
  given({ part, count, place, kind: chip?.kind ?? "unknown" });

const DATA = new Set(["TxD", "RxD"]);

function carriesOf(net: Net | undefined): Carries {
  if (!net) return "nothing";
  if (new Set(net.drivers.map((pin) => pin.end)).size > 1) return "fight";
  if (net.drivers.some((pin) => DATA.has(pin.circuit ?? ""))) return "data";
  if (net.drivers.length > 0) return "handshake";
  return net.pins.filter((pin) => pin.direction === "common").length > 1 ? "ground" : "nothing";
}

function towards(net: Net | undefined): DrawnWire["towards"] {
  const ends = new Set(net?.listeners.map((pin) => pin.end));
  if (ends.size === 0 || net?.drivers.length === 0) return null;
  return ends.size === 2 ? "both" : ends.has("to") ? "to" : "from";
}

function drawnCable(cable: BenchCable): DrawnCable {
  const found = cableNets(cable);
  const nets = found.known ? found.nets : [];
  const wires = found.known ? found.wiring.wires : [];
  const netOf = (end: EndName, pin: number) =>
    nets.find((net) => net.pins.some((each) => each.end === end && each.pin === pin));
  const wired = (pin: Pin): boolean => wires.some((wire) => wire[pin.end === "from" ? 0 : 1] === pin.pin);
  const jumpers: DrawnCable["jumpers"][number][] = [];
  for (const net of nets)
    for (const end of ["from", "to"] as const) {
      const pins = net.pins.filter((pin) => pin.end === end);
      for (const [index, pin] of pins.entries()) {
        // A pin that a wire reaches needs no jumper; one that none reaches hangs on its neighbour.
        const before = pins[index - 1];
        if (before && !(wired(pin) && wired(before)))
          jumpers.push({ end, pins: [before.pin, pin.pin], carries: carriesOf(net) });
      }
    }
  return given({
    name: cable.name,
    kind: cable.kind,
    length: textOf(cable.length),
    from: drawnEnd(cable.from, "from", nets),
    to: drawnEnd(cable.to, "to", nets),
    missing: found.known ? [] : found.missing,
    wires: wires.map(([from, to]) => {
      const net = netOf("from", from);
      return { from, to, carries: carriesOf(net), towards: towards(net) };
    }),
    jumpers,
  });
}

const drawnEnd = (end: LineEnd, name: EndName, nets: readonly Net[]): DrawnEnd =>
  given({
    name: end.name,
    role: end.role,
    connector: end.connector?.title,
    pins: nets
      .flatMap((net) => net.pins)
      .filter((pin) => pin.end === name && pin.circuit !== undefined)
      .sort((a, b) => a.pin - b.pin)
      .map(({ pin, circuit, direction }) => ({ pin, circuit: circuit ?? "", direction })),
  });
