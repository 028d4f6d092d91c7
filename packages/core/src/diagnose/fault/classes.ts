import { BugError } from "../../errors/index.ts";
import { type CellFault, type CellKind, cellOf } from "./cells.ts";

/** A class of faults that the literature gives theorems about, with its usual short name. */
export const CLASSES = {
  SAF: { title: "stuck-at cells", kind: "stuck" },
  TF: { title: "transition", kind: "transition" },
  AF: { title: "address decoder", kind: "decoder" },
  CFin: { title: "inversion coupling", kind: "inversion" },
  CFid: { title: "idempotent coupling", kind: "idempotent" },
  CFst: { title: "state coupling", kind: "state" },
  SOF: { title: "stuck-open cells", kind: "open" },
  DRF: { title: "retention", kind: "leak" },
  BF: { title: "joined cells", kind: "bridge" },
} as const satisfies Record<string, { title: string; kind: CellKind }>;

export type FaultClass = keyof typeof CLASSES;

export const FAULT_CLASSES = Object.keys(CLASSES) as readonly FaultClass[];

/** `proved`: every fault of the class is found; `partly`: some are, by no theorem; `none`: nothing is claimed. */
export type Claim = "proved" | "partly" | "none";

const claims = (proved: readonly FaultClass[], partly: readonly FaultClass[] = []) =>
  Object.fromEntries(
    FAULT_CLASSES.map((each) => [each, proved.includes(each) ? "proved" : partly.includes(each) ? "partly" : "none"]),
  ) as Readonly<Record<FaultClass, Claim>>;

/**
 * What the literature proves of each march, by its id, for faults that occur alone (unlinked) and bits one by one: van de Goor,
 * Using March Tests to Test SRAMs, IEEE Design & Test of Computers 10(1), 1993, and his book of 1991, both from memory;
 * checks/diagnose proves each entry again by trying every fault. Joined cells are not in its table.
 */
export const PROVED: Readonly<Record<string, Readonly<Record<FaultClass, Claim>>>> = {
  mats: claims(["SAF"], ["AF", "TF"]),
  "mats+": claims(["SAF", "AF"], ["TF"]),
  "mats++": claims(["SAF", "TF", "AF", "SOF"]),
  "march-x": claims(["SAF", "TF", "AF", "CFin"]),
  "march-y": claims(["SAF", "TF", "AF", "CFin", "SOF"]),
  "march-c-": claims(["SAF", "TF", "AF", "CFin", "CFid", "CFst"]),
  "march-a": claims(["SAF", "TF", "AF", "CFin", "CFid"]),
  "march-b": claims(["SAF", "TF", "AF", "CFin", "CFid", "CFst", "SOF"]),
  "march-g": claims(["SAF", "TF", "AF", "CFin", "CFid", "CFst", "SOF", "DRF"]),
  retention: claims(["SAF", "DRF"], ["AF", "TF"]),
};

const BOTH = [0, 1] as const;

/** Every fault of a class in a memory of `words` words of `width` bits. */
export function* faultsOf(name: FaultClass, words: number, width: number, hold = 1): Generator<CellFault> {
  const { kind } = CLASSES[name];
  const cells = Array.from({ length: words * width }, (_, index) => cellOf(Math.floor(index / width), index % width));
  if (kind === "decoder") yield* decoderFaults(words, width);
  else if (kind === "stuck" || kind === "transition" || kind === "open" || kind === "leak")
    for (const cell of cells) yield* single(kind, cell, hold);
  else
    for (const aggressor of cells)
      for (const victim of cells) if (aggressor !== victim) yield* pair(kind, aggressor, victim);
}

/** The faults of a kind that one cell can have. */
export function* single(
  kind: "stuck" | "transition" | "open" | "leak",
  cell: number,
  hold: number,
): Generator<CellFault> {
  if (kind === "open") yield { kind, cell };
  else
    for (const value of BOTH)
      yield kind === "stuck"
        ? { kind, cell, value }
        : kind === "transition"
          ? { kind, cell, to: value }
          : { kind, cell, rest: value, hold };
}

/** The faults of a kind that two cells can have, the first one acting on the second. */
function* pair(
  kind: "inversion" | "idempotent" | "state" | "bridge",
  aggressor: number,
  victim: number,
): Generator<CellFault> {
  for (const first of BOTH) {
    if (kind === "inversion") yield { kind, aggressor, edge: first, victim };
    // Joined cells know no first and second: each pair once.
    else if (kind === "bridge") {
      if (aggressor < victim) yield { kind, cells: [aggressor, victim], wired: first ? "or" : "and" };
    } else
      for (const value of BOTH)
        yield kind === "idempotent"
          ? { kind, aggressor, edge: first, victim, value }
          : { kind, aggressor, level: first, victim, value };
  }
}

/**
 * The four ways in which one address and one word, or two of each, can be joined wrongly, each with both wired functions
 * and both values of an open line: no word for an address; its word at another address too; another's word instead of its
 * own; another's word besides its own.
 */
function* decoderFaults(words: number, width: number): Generator<CellFault> {
  const bits = 2 ** width - 1;
  for (let address = 0; address < words; address++) {
    for (const floats of BOTH) yield { kind: "decoder", routes: [{ address, words: [] }], bits, wired: "and", floats };
    for (let other = 0; other < words; other++) if (other !== address) yield* joinedAddresses(address, other, bits);
  }
}

/** Decoder faults of two addresses. */
export function* joinedAddresses(address: number, other: number, bits: number): Generator<CellFault> {
  yield { kind: "decoder", routes: [{ address, words: [other] }], bits, wired: "and", floats: 1 };
  for (const wired of ["and", "or"] as const) {
    yield { kind: "decoder", routes: [{ address, words: [address, other] }], bits, wired, floats: 1 };
    for (const floats of BOTH)
      yield {
        kind: "decoder",
        routes: [
          { address, words: [] },
          { address: other, words: [other, address] },
        ],
        bits,
        wired,
        floats,
      };
  }
}

/** A fault in the short form of the literature: `⟨↑;0⟩ 12.3 → 40.3` for a coupling, words and bits by number. */
export function faultText(
  fault: CellFault,
  place: (cell: number) => string = (cell) => `${Math.floor(cell / 8)}.${cell % 8}`,
): string {
  const edge = (to: 0 | 1) => (to ? "↑" : "↓");
  switch (fault.kind) {
    case "stuck":
      return `${place(fault.cell)} stuck at ${fault.value}`;
    case "transition":
      return `${place(fault.cell)} cannot go to ${fault.to}`;
    case "open":
      return `${place(fault.cell)} cannot be reached`;
    case "leak":
      return `${place(fault.cell)} falls to ${fault.rest} after ${fault.hold} cycles`;
    case "inversion":
      return `⟨${edge(fault.edge)};↕⟩ ${place(fault.aggressor)} → ${place(fault.victim)}`;
    case "idempotent":
      return `⟨${edge(fault.edge)};${fault.value}⟩ ${place(fault.aggressor)} → ${place(fault.victim)}`;
    case "state":
      return `⟨${fault.level};${fault.value}⟩ ${place(fault.aggressor)} → ${place(fault.victim)}`;
    case "bridge":
      return `${place(fault.cells[0])} and ${place(fault.cells[1])} joined, wired ${fault.wired.toUpperCase()}`;
    case "decoder": {
      if (fault.routes.length === 0) throw new BugError("a decoder fault without routes");
      const word = (each: number) => place(cellOf(each, 0)).replace(/\.0$/, "");
      const routes = fault.routes.map(
        ({ address, words }) => `${word(address)} → ${words.map(word).join(" and ") || "nothing"}`,
      );
      return `address ${routes.join(", ")}, wired ${fault.wired.toUpperCase()}, open lines read ${fault.floats}`;
    }
  }
}
