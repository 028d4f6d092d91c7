import type { Dimension } from "../quantity/index.ts";
import type { CatalogueKind, Source } from "./types.ts";

/**
 * Catalogue data as written in YAML. A value is a text ("4.4 mA"), which takes the source of the group or part it stands
 * in, or a group `{is, source, note}` that names its own. A group's `source` and `note` hold for every value inside it.
 */
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

/** What a value measures, or a group of such. */
export type Measures = Dimension | { readonly [key: string]: Measures };

/** Where values stand in a part of each kind, and what they measure. A list of values counts as one place. */
export const DIMENSIONS: Readonly<Record<CatalogueKind, { readonly [key: string]: Measures }>> = {
  chips: {
    supply: { typical: "current", max: "current" },
    output: { high: "current", low: "current" },
    input: { high: "current", low: "current", capacitance: "capacitance" },
    delays: { typical: "time", max: "time" },
    memory: { access: "time", refresh: { within: "time" } },
    cpu: {
      clockMax: "frequency",
      bus: {
        addressDelay: "time",
        readSetup: "time",
        readHold: "time",
        addressHold: "time",
        writeDataDelay: "time",
        access: "time",
      },
    },
    line: { outputHigh: "voltage", outputLow: "voltage", inputMax: "voltage" },
    regulator: {
      output: "voltage",
      current: "current",
      dropout: "voltage",
      inputMax: "voltage",
      junctionMax: "temperature",
      junctionToCase: "thermal",
      junctionToAmbient: "thermal",
    },
  },
  drives: {
    trackDensity: "trackDensity",
    rotation: "rotation",
    rates: "rate",
    coercivity: { low: "coercivity", high: "coercivity" },
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
    trackZero: { rate: "rate" },
  },
  connectors: {},
  terminals: {},
  levels: {
    mark: { from: "voltage", to: "voltage" },
    space: { from: "voltage", to: "voltage" },
    receivedMark: { from: "voltage", to: "voltage" },
    receivedSpace: { from: "voltage", to: "voltage" },
    open: "voltage",
    survives: { from: "voltage", to: "voltage" },
    load: { from: "resistance", to: "resistance" },
    capacitance: "capacitance",
    shortCircuit: "current",
    poweredOff: "resistance",
    rate: "rate",
    markCurrent: "current",
    spaceCurrent: "current",
  },
};

/** Kinds of part that carry their source themselves, beside the sources of their values; a chip's `uart` and a recording's `layout` do too. */
export const KEEPS_SOURCE: ReadonlySet<string> = new Set(["recordings", "connectors", "terminals", "levels"]);
