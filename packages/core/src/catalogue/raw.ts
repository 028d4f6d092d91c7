import type { Dimension } from "../quantity/index.ts";
import type { CatalogueKind, Source } from "./types.ts";

/**
 * Catalogue data as written in YAML. A value is a text ("4.4 mA"), which takes the source of the group or part it stands
 * in, or a map that names its own. A group's `source` and `note` hold for every value inside it.
 */
export type RawValue = string | { is: string; source?: string; note?: string };

/** A group of values or a whole part. */
export interface RawGroup {
  readonly [key: string]: unknown;
}

/** One catalogue file: lists of parts by kind, and the sources that they cite. */
export type CatalogueData = { readonly sources?: readonly Source[] } & {
  readonly [Kind in CatalogueKind]?: readonly RawGroup[];
};

/** A user's catalogue file that `checkUserFile` found sound. */
export interface UserFile {
  /** As shown to people: "catalogue/mine.yaml". */
  file: string;
  data: CatalogueData;
}

/** What names a part of each kind. */
export const NAME_KEY: Readonly<Record<CatalogueKind, "part" | "id">> = {
  chips: "part",
  drives: "id",
  media: "id",
  recordings: "id",
  connectors: "id",
  terminals: "id",
  levels: "id",
};

/** Where values stand in a part of each kind, and what they measure. A list of values counts as one place. */
export const DIMENSIONS: Readonly<Record<CatalogueKind, Readonly<Record<string, Dimension>>>> = {
  chips: {
    "supply.typical": "current",
    "supply.max": "current",
    "output.high": "current",
    "output.low": "current",
    "input.high": "current",
    "input.low": "current",
    "input.capacitance": "capacitance",
    "delays.typical": "time",
    "delays.max": "time",
    "memory.access": "time",
    "memory.refresh.within": "time",
    "cpu.clockMax": "frequency",
    "cpu.bus.addressDelay": "time",
    "cpu.bus.readSetup": "time",
    "cpu.bus.readHold": "time",
    "cpu.bus.addressHold": "time",
    "cpu.bus.writeDataDelay": "time",
    "cpu.bus.access": "time",
    "line.outputHigh": "voltage",
    "line.outputLow": "voltage",
    "line.inputMax": "voltage",
    "regulator.output": "voltage",
    "regulator.current": "current",
    "regulator.dropout": "voltage",
    "regulator.inputMax": "voltage",
    "regulator.junctionMax": "temperature",
    "regulator.junctionToCase": "thermal",
    "regulator.junctionToAmbient": "thermal",
  },
  drives: {
    trackDensity: "trackDensity",
    rotation: "rotation",
    rates: "rate",
    "coercivity.low": "coercivity",
    "coercivity.high": "coercivity",
    step: "time",
    settle: "time",
    headLoad: "time",
    motorStart: "time",
  },
  media: { coercivity: "coercivity", trackDensity: "trackDensity", bitDensity: "bitDensity" },
  recordings: {
    capacity: "memory",
    trackDensity: "trackDensity",
    rotation: "rotation",
    rates: "rate",
    "trackZero.rate": "rate",
  },
  connectors: {},
  terminals: {},
  levels: {
    "mark.from": "voltage",
    "mark.to": "voltage",
    "space.from": "voltage",
    "space.to": "voltage",
    "receivedMark.from": "voltage",
    "receivedMark.to": "voltage",
    "receivedSpace.from": "voltage",
    "receivedSpace.to": "voltage",
    open: "voltage",
    "survives.from": "voltage",
    "survives.to": "voltage",
    "load.from": "resistance",
    "load.to": "resistance",
    capacitance: "capacitance",
    shortCircuit: "current",
    poweredOff: "resistance",
    rate: "rate",
    markCurrent: "current",
    spaceCurrent: "current",
  },
};

/** Groups that carry the source itself, beside the sources of their values. */
export const KEEPS_SOURCE: ReadonlySet<string> = new Set([
  "chips.uart",
  "recordings",
  "connectors",
  "terminals",
  "levels",
]);
