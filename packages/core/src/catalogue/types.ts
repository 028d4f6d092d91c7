import type { Geometry } from "../geometry/index.ts";
import type { Quantity } from "../quantity/index.ts";

/** Kinds of part, as the lists in a catalogue file are named. */
export type CatalogueKind = "chips" | "drives" | "media" | "recordings" | "connectors" | "terminals" | "levels";

/** Where a value comes from. `memory` and `common practice` are shown as such and never dressed up. */
export interface Source {
  id: string;
  title: string;
  kind: "standard" | "data sheet" | "manual" | "arithmetic" | "common practice" | "memory" | "user";
}

/** A value with its source; `note` says what a reader must know to use it (load, clock, worst pin). */
export interface Sourced<T = Quantity> {
  value: T;
  source: Source;
  note?: string;
}

export type ChipKind =
  | "logic"
  | "memory"
  | "cpu"
  | "uart"
  | "parallel port"
  | "timer"
  | "line driver"
  | "line receiver"
  | "regulator";

/** A chip, by its part number. Anything not known is left out: a check that needs it answers `unknown`. */
export interface Chip {
  part: string;
  title: string;
  kind: ChipKind;
  /** "LS", "NMOS", "CMOS", "bipolar". */
  family?: string;
  /** Supply current, one row a rail ("+5 V", "+12 V", "-5 V"). */
  supply: readonly { rail: string; typical?: Sourced; max?: Sourced }[];
  output?: {
    type: "totem-pole" | "three-state" | "open-collector" | "MOS";
    /** Current sourced at the high level and sunk at the low level, both as positive numbers. */
    high?: Sourced;
    low?: Sourced;
  };
  /** Current into an input at the high level and out of it at the low level, as positive numbers; capacitance. */
  input?: { high?: Sourced; low?: Sourced; capacitance?: Sourced };
  /** Propagation delay by path: "data to output", "enable to output". */
  delays: readonly { path: string; typical?: Sourced; max?: Sourced }[];
  memory?: {
    type: "static" | "dynamic" | "EPROM" | "register file";
    words: number;
    bits: number;
    access?: Sourced;
    refresh?: { rows: number; within: Sourced };
  };
  cpu?: { instructionSet: string; clockMax?: Sourced; addressBits: number; bus?: BusTiming };
  uart?: Uart;
  line?: LineInterface;
  regulator?: {
    output: Sourced;
    current?: Sourced;
    dropout?: Sourced;
    inputMax?: Sourced;
    junctionMax?: Sourced;
    /** Thermal resistance, junction to case and junction to ambient. */
    junctionToCase?: Sourced;
    junctionToAmbient?: Sourced;
  };
}

/** Bus timing of a CPU at its highest clock. */
export interface BusTiming {
  /** From the clock edge that starts an address to the address being valid. */
  addressDelay?: Sourced;
  /** Read data valid before the clock edge that takes it, and held after it. */
  readSetup?: Sourced;
  readHold?: Sourced;
  /** Address held after the end of the cycle. */
  addressHold?: Sourced;
  /** From the clock edge to write data being valid. */
  writeDataDelay?: Sourced;
  /** What is left for memory between address and data. */
  access?: Sourced;
}

/** How a serial port part makes its bit rate, and what frames it can send. */
export interface Uart {
  kind: "6551" | "6850" | "8251" | "16450" | "SIO";
  /**
   * `selected`: from a table of the part's own (`counts`, crystal cycles a bit by rate code); `divided`: input clock by
   * one of `ratios` chosen in a register; `programmed`: by a 16-bit divisor and then by 16.
   */
  generator: "selected" | "divided" | "programmed";
  ratios?: readonly number[];
  counts?: readonly { code: number; rate: number; count: number }[];
  source: Source;
  /** Frames in the trade's short form: "8N1", "7E1". */
  frames: readonly string[];
  /** Received characters the part holds before one is lost. */
  receiveBuffer: number;
}

export type LevelFamily = "V.28" | "TTL 5 V" | "TTL 3.3 V" | "V.10" | "current loop";

export interface LineInterface {
  family: LevelFamily;
  channels: number;
  /** Guaranteed output levels of a driver. */
  outputHigh?: Sourced;
  outputLow?: Sourced;
  /** Largest input a receiver bears, either sign. */
  inputMax?: Sourced;
}

export type FormFactor = "8-inch" | "5.25-inch" | "3.5-inch";
/** How bits are put down: the code, not the layout. */
export type RecordingCode = "FM" | "MFM" | "zoned 4-to-5 group code";

export interface DriveClass {
  id: string;
  title: string;
  size: FormFactor;
  /** Heads that read and write. */
  sides: 1 | 2;
  tracks: number;
  trackDensity: Sourced;
  rotation: Sourced;
  codes: readonly RecordingCode[];
  /** Bit rates the electronics handle; for zoned drives the slowest and the fastest. */
  rates: readonly Sourced[];
  /** Coercivity the write current is made for; lowest and highest that it still writes well. */
  coercivity?: { low: Sourced; high: Sourced };
  step?: Sourced;
  settle?: Sourced;
  headLoad?: Sourced;
  motorStart?: Sourced;
  bus: string;
  /** Kinds of file that a drive with a file system of its own offers; left out where the computer does that. */
  fileKinds?: readonly string[];
}

export interface MediumClass {
  id: string;
  title: string;
  size: FormFactor;
  sides: 1 | 2;
  coercivity: Sourced;
  /** Track density it was certified for. */
  trackDensity: Sourced;
  /** Largest transitions a radian it was certified for. */
  bitDensity: Sourced;
  sectoring: "soft" | "hard";
}

/** Gaps of a track in bytes as they pass the head. Sync runs, marks and field lengths belong to the code. */
export interface TrackLayout {
  /** Before and after the index mark; both left out where a track has none. */
  beforeIndex?: number;
  afterIndex?: number;
  /** Between ID field and data field. */
  afterId: number;
  /** After a data field; the last one runs on to the end of the turn. */
  afterData: number;
  source: Source;
}

export interface Recording {
  id: string;
  title: string;
  code: RecordingCode;
  /** The standard or guide that lays it out. */
  source: Source;
  geometry: Geometry;
  /** Bytes of data on a whole disk, as the standard's layout gives them. */
  capacity: Sourced;
  /** One for each zone of the geometry, in its order. A user's own recording may lack it; then no track can be laid out. */
  layout?: readonly TrackLayout[];
  /** Track 0 of side 0, where it is put down in another code than the rest. */
  trackZero?: { code: RecordingCode; rate: Sourced };
  size: FormFactor;
  trackDensity: Sourced;
  rotation: Sourced;
  /** Bit rates of data; several for zones, from the outermost zone inwards. */
  rates: readonly Sourced[];
  /** Medium classes it belongs on. */
  media: readonly string[];
}

export interface Circuit {
  pin: number;
  /** Short name from the trade: TxD, RxD, RTS, CTS, DSR, SG, DCD, DTR, RI, shield. */
  name: string;
  /** V.24 circuit number, where it is one. */
  v24?: string;
  from: "DTE" | "DCE" | "both";
}

export interface Connector {
  id: string;
  title: string;
  pins: number;
  /** The usual assignment, named from the DTE's side; a bench may override every pin. */
  circuits: readonly Circuit[];
  source: Source;
}

/** What a short control code of a terminal's own does; `clear` also puts the cursor at home. */
export type TerminalAct =
  | "left"
  | "right"
  | "up"
  | "down"
  | "home"
  | "clear"
  | "eraseLine"
  | "eraseScreen"
  | "insertLine"
  | "deleteLine"
  | "insertCharacter"
  | "deleteCharacter";

/** Control codes that are not ECMA-48's, each as the bytes in hex: "0C", "1B 54". */
export type TerminalCodes = { readonly [Act in TerminalAct]?: string } & {
  /** Places the cursor: these bytes, then row and column, each counted from 0 and sent as a byte above `offset`. */
  readonly place?: { lead: string; order: "row first" | "column first"; offset: number };
};

/** A terminal by what it can do. Control functions are named by ECMA-48's abbreviations. */
export interface TerminalClass {
  id: string;
  title: string;
  columns: number;
  rows: number;
  letters: "upper case only" | "upper and lower case";
  /** At the last column: the next character goes to the next line, or stays on the last column. */
  wraps: boolean;
  scrolls: boolean;
  addressing: "none" | "relative" | "absolute";
  controls: readonly string[];
  characterSet: string;
  rates: readonly number[];
  frames: readonly string[];
  /** On paper nothing is erased, and characters strike over one another. A screen unless said. */
  display?: "screen" | "paper";
  /** With the last column filled, the cursor waits for the next character (unless said) or goes to the next line at once. */
  wrapping?: "with the next character" | "at once";
  /** CR also feeds a line; LF also returns to the first column. */
  returnFeeds?: boolean;
  feedReturns?: boolean;
  /** Columns from one tab stop to the next, 8 unless said; 0 where HT does nothing. */
  tabs?: number;
  codes?: TerminalCodes;
  source: Source;
}

/** What a line level family promises. Mark is a 1 and the idle line, space a 0; voltages are against signal ground. */
export interface Levels {
  id: LevelFamily;
  title: string;
  /** Lowest and highest voltage of a driver into its load. */
  mark?: { from: Sourced; to: Sourced };
  space?: { from: Sourced; to: Sourced };
  /** What a receiver takes for mark and for space; between the two it may take either. */
  receivedMark?: { from?: Sourced; to?: Sourced };
  receivedSpace?: { from?: Sourced; to?: Sourced };
  /** Largest voltage of a driver without a load, either sign. */
  open?: Sourced;
  /** What an input bears without harm. */
  survives?: { from: Sourced; to: Sourced };
  /** Resistance that a receiver may show, and the largest capacitance of cable and receiver together. */
  load?: { from: Sourced; to: Sourced };
  capacitance?: Sourced;
  /** Largest current of a shorted driver, and its least resistance without supply. */
  shortCircuit?: Sourced;
  poweredOff?: Sourced;
  rate?: Sourced;
  markCurrent?: Sourced;
  spaceCurrent?: Sourced;
  source: Source;
}

export interface Catalogue {
  sources: ReadonlyMap<string, Source>;
  chips: ReadonlyMap<string, Chip>;
  drives: ReadonlyMap<string, DriveClass>;
  media: ReadonlyMap<string, MediumClass>;
  recordings: ReadonlyMap<string, Recording>;
  connectors: ReadonlyMap<string, Connector>;
  terminals: ReadonlyMap<string, TerminalClass>;
  levels: ReadonlyMap<string, Levels>;
}
