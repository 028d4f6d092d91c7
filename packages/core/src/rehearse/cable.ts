import type { BenchCable, LineEnd } from "../bench/index.ts";
import { cableNets, dataCircuit, type EndName, meet, type Net, type Pin, readyCircuit } from "../line/index.ts";

/** A circuit that drives an input: whose it is, and whether it arrives upside down. */
export interface Drive {
  end: EndName;
  circuit: string;
  inverted: boolean;
}

/** What reaches one end through a cable. */
interface Reaching {
  /** Drivers of its data input; none where nothing drives it. */
  data: readonly Drive[];
  /** Drivers of its CTS (at a DCE: RTS); undefined where the end does not look at it. */
  clear?: readonly Drive[];
}

/** What a cable joins, and what had to be taken for granted about it. */
export interface Joined {
  from: Reaching;
  to: Reaching;
  assumed: readonly string[];
}

const otherEnd = (end: EndName): EndName => (end === "from" ? "to" : "from");

/** Follows each input back through the nets of the cable. */
export function joinedBy(cable: BenchCable): Joined {
  const nets = cableNets(cable);
  if (!nets.known) {
    const straight = (end: EndName): Reaching => ({
      data: [{ end: otherEnd(end), circuit: dataCircuit(cable[otherEnd(end)], "out"), inverted: false }],
    });
    return {
      from: straight("from"),
      to: straight("to"),
      assumed: [`${cable.name} is taken to be wired right: ${nets.missing.join(", ")} is not given.`],
    };
  }
  const assumed: string[] = [];
  const holds = (net: Net, end: EndName, circuit: string) =>
    net.pins.some((pin) => pin.end === end && pin.circuit === circuit);
  const ground = nets.nets.some(
    (net) =>
      net.pins.some((pin) => pin.end === "from" && isGround(pin)) &&
      net.pins.some((pin) => pin.end === "to" && isGround(pin)),
  );
  const driversOf = (end: EndName, circuit: string): Drive[] => {
    const net = nets.nets.find((each) => holds(each, end, circuit));
    return (net?.drivers ?? []).flatMap((pin) => {
      // Without a common ground only what comes back from its own plug reaches an end.
      if (!ground && pin.end !== end) return [];
      const arrives = arrival(cable[pin.end], cable[end]);
      return arrives === "nothing" ? [] : [{ end: pin.end, circuit: pin.circuit!, inverted: arrives === "inverted" }];
    });
  };
  const reaching = (end: EndName): Reaching => {
    const { handshake } = cable[end];
    const data = driversOf(end, dataCircuit(cable[end], "in"));
    const clear = driversOf(end, readyCircuit(cable[end], "in"));
    if (handshake === "lines") return { data, clear };
    if (handshake !== undefined || clear.length === 0) return { data };
    assumed.push(
      `${cable[end].name} looks at ${readyCircuit(cable[end], "in")}, since ${cable[end].path}.handshake is not given.`,
    );
    return { data, clear };
  };
  return { from: reaching("from"), to: reaching("to"), assumed };
}

const isGround = (pin: Pin): boolean => pin.circuit === "SG" || pin.circuit === "shield";

/** How one end's levels arrive at another's input (levels.ts says why): as sent, upside down, or not at all. */
function arrival(driver: LineEnd, listener: LineEnd): "as sent" | "inverted" | "nothing" {
  if (driver.levels === undefined || listener.levels === undefined) return "as sent";
  const { verdict } = meet(driver.levels, listener.levels);
  if (verdict === "fits" || verdict === "marginal") return "as sent";
  if (driver.levels === "current loop" || listener.levels === "current loop") return "nothing";
  const bipolar = (each: LineEnd) => each.levels === "V.28" || each.levels === "V.10";
  return bipolar(driver) === bipolar(listener) ? "as sent" : "inverted";
}
