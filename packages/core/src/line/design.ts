import type { BenchCable, BenchPort, BenchTerminal, LineEnd } from "../bench/index.ts";
import { meet } from "./levels.ts";
import { dataCircuit, mayHold, readyCircuit, type Wiring } from "./nets.ts";

type Pair = readonly [number, number];

export type CableDesign =
  /** `reasons`: a sentence for each wire and jumper, and what to see to before it is plugged in. */
  { possible: true; wiring: Wiring; reasons: readonly string[] } | { possible: false; why: readonly string[] };

/** Pin that carries a circuit at an end: the bench's own pins go before the connector's usual ones. */
const pinFor = (end: LineEnd, circuit: string): number | undefined =>
  end.pins.size > 0
    ? [...end.pins].find(([, name]) => name === circuit)?.[0]
    : end.connector?.circuits.find((each) => each.name === circuit)?.pin;

/**
 * The smallest cable that works between two ends: data both ways and signal ground; with `handshake`, ready-to-receive
 * both ways as well. An end that waits for a line that no wire brings gets it from itself, by a jumper in its plug.
 */
export function designCable(from: BenchPort, to: BenchTerminal, { handshake }: { handshake: boolean }): CableDesign {
  const why: string[] = [];
  const reasons: string[] = [];
  for (const end of [from, to]) {
    if (!end.connector) why.push(`the connector of ${end.name} is not given (${end.path}.connector)`);
    if (!end.role) why.push(`whether ${end.name} is DTE or DCE is not given (${end.path}.role)`);
  }
  if (why.length > 0) return { possible: false, why };
  if (from.levels && to.levels) {
    for (const { verdict, sentence } of [meet(from.levels, to.levels), meet(to.levels, from.levels)])
      if (verdict === "fails" || verdict === "damages")
        why.push(`${sentence}: no cable mends that, a level converter belongs between the ends`);
      else if (verdict === "marginal") reasons.push(`Levels: ${sentence}.`);
  } else reasons.push("The levels of an end are not given: measure the idle transmit lines before you plug it in.");

  const wires: Pair[] = [];
  const join = (left: string, right: string, reason: string) => {
    const [a, b] = [pinFor(from, left), pinFor(to, right)];
    if (a === undefined) why.push(`${from.name} has no pin for ${left}`);
    if (b === undefined) why.push(`${to.name} has no pin for ${right}`);
    if (a === undefined || b === undefined) return;
    wires.push([a, b]);
    reasons.push(`Wire ${a} – ${b}: ${reason}.`);
  };
  const carry = (circuitOf: (end: LineEnd, way: "out" | "in") => string, what: (a: LineEnd, b: LineEnd) => string) => {
    const circuits = (talker: LineEnd, listener: LineEnd) =>
      `${circuitOf(talker, "out")} of ${talker.name} to ${circuitOf(listener, "in")} of ${listener.name}, ${what(talker, listener)}`;
    join(circuitOf(from, "out"), circuitOf(to, "in"), circuits(from, to));
    join(circuitOf(from, "in"), circuitOf(to, "out"), circuits(to, from));
  };
  carry(dataCircuit, () => "data");
  join("SG", "SG", "signal ground, the level that all others are measured against");
  if (handshake) carry(readyCircuit, (talker, listener) => `by which ${talker.name} stops ${listener.name}`);
  if (why.length > 0) return { possible: false, why };

  const loops = (end: LineEnd): Pair[] => {
    const waits = end.handshake === "lines" || mayHold(end);
    const pairs = [
      // The end gives itself the permission that no wire brings.
      ...(!handshake && waits ? [[readyCircuit(end, "out"), readyCircuit(end, "in")] as const] : []),
      ...(waits || handshake
        ? end.role === "DTE"
          ? ([
              ["DTR", "DSR"],
              ["DTR", "DCD"],
            ] as const)
          : ([["DSR", "DTR"]] as const)
        : []),
    ];
    return pairs.flatMap(([driver, listener]) => {
      const [a, b] = [pinFor(end, driver), pinFor(end, listener)];
      if (a === undefined || b === undefined) return [];
      reasons.push(`Jumper ${a} – ${b} in the plug at ${end.name}: its own ${driver} keeps ${listener} on.`);
      return [[a, b] as const];
    });
  };
  return { possible: true, wiring: { wires, jumpersFrom: loops(from), jumpersTo: loops(to) }, reasons };
}

/** A design as a cable of the bench, for the checks and the drawing. */
export const asCable = (name: string, from: BenchPort, to: BenchTerminal, wiring: Wiring): BenchCable => ({
  name,
  path: `cables.${name}`,
  from,
  to,
  kind: "wired",
  ...wiring,
});
