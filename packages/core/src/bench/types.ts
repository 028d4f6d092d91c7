import type {
  Chip,
  Connector,
  LevelFamily,
  Logic,
  MediumClass,
  Recording,
  RecordingCode,
  Sourced,
  TerminalClass,
} from "../catalogue/index.ts";
import type { Quantity } from "../quantity/index.ts";
import type { BenchFile } from "./schema.ts";

/**
 * A bench with its parts looked up. Every value carries its source: the catalogue's, or the bench file's own where the
 * person wrote it. `path` is the key in the bench file. A value nobody gave is left out, and what needs it is `unknown`.
 */

export interface BenchChip {
  path: string;
  part: string;
  count: number;
  place?: string;
  socketed?: boolean;
  /** Undefined where the catalogue does not know the part. */
  chip?: Chip;
}

export interface BenchBoard {
  name: string;
  path: string;
  added: boolean;
  chips: readonly BenchChip[];
  draws: ReadonlyMap<string, Quantity>;
  /** Bus lines that its chips load or drive. */
  lines: readonly BenchLines[];
  feed?: {
    length?: Quantity;
    wires?: number;
    gauge?: number;
    resistance?: Quantity;
    contacts?: number;
    contact?: Quantity;
  };
  socket?: { place: string; pins?: number; pin1?: string };
  removes: readonly { part: string; place?: string; goes?: string }[];
  links: readonly { name: string; set: string; was?: string }[];
  note?: string;
}

/** What a board hangs on each of some bus lines. */
export interface BenchLines {
  path: string;
  /** As written: "A15..A12". */
  title: string;
  /** Each line: A15, A14, A13, A12. */
  names: readonly string[];
  drivenBy?: { part: string; chip?: Chip };
  loads: readonly { part: string; count: number; chip?: Chip }[];
  outputs: readonly { part: string; count: number; chip?: Chip }[];
  length?: Quantity;
  capacitance?: Quantity;
}

/** A part that a signal passes on its way. */
export interface BenchStage {
  path: string;
  part: string;
  chip?: Chip;
  /** Which of its delays. */
  delay?: string;
  board?: string;
  note?: string;
}

/** A read of a memory, from the CPU's address pins to its data pins. */
export interface BenchPath {
  name: string;
  path: string;
  region: string;
  through: readonly BenchStage[];
  back: readonly BenchStage[];
  memory?: { part: string; chip?: Chip };
  access?: Quantity;
  starts?: Quantity;
  waits: number;
}

export interface BenchLatch {
  name: string;
  path: string;
  at?: number;
  port: boolean;
  bits?: number;
  readable?: boolean;
  powerOn?: number;
}

/** The logic of the address decoder. Every signal has its equation, over inputs, latch bits and other signals. */
export interface BenchLogic {
  signals: ReadonlyMap<string, Logic>;
  /** The part that makes a signal, where one does. */
  madeBy: ReadonlyMap<string, { place: string; part: string; chip?: Chip }>;
}

export interface BenchRail {
  name: string;
  path: string;
  voltage?: Quantity;
  limit?: Quantity;
  reserve?: Quantity;
  unregulated?: {
    secondary: Quantity;
    rectifier?: "bridge" | "centre tap" | "half wave";
    filter?: Quantity;
    frequency?: Quantity;
    lowMains?: Quantity;
  };
  regulator?: { part: string; chip?: Chip; input?: Quantity; heatSink?: Quantity; ambient?: Quantity };
}

/** Where the image of a disk or a ROM came from and when, and by whose leave it is used. */
export interface Origin {
  from?: string;
  received?: string;
  permission?: string;
  licence?: string;
}

export interface BenchRegion {
  name: string;
  path: string;
  kind: "ram" | "rom" | "io" | "window";
  /** First and last address, both included. */
  from: number;
  to: number;
  banks?: number;
  latch?: { at: number; bits?: number; readable?: boolean; powerOn?: number };
  chips?: string;
  chip?: Chip;
  /** Address lines that its select looks at, as a mask over A15 to A0. */
  decode?: number;
  /** Equations of its select; several should be equal. */
  select?: readonly { text: string; logic: Logic }[];
  /** States of the latches in which it is there. */
  when?: Logic;
  only?: "read" | "write";
  board?: string;
  places?: readonly string[];
  /** Another region whose chips these are too, and where in them it begins. */
  shares?: string;
  offset?: number;
  waits?: number;
  /** A ROM's image, and where that came from. */
  file?: string;
  origin?: Origin;
  under: boolean;
}

/** The disk controller. `registers` are counted from `at`. */
export interface BenchController {
  path: string;
  at: number;
  port?: boolean;
  registers: {
    command: number;
    data: number;
    address?: number;
    high?: number;
    low?: number;
    track?: number;
    side?: number;
    sector?: number;
  };
}

/** A timer chip, or a parallel port whose input is pulsed every so many cycles of the CPU. */
export interface BenchTimer {
  name: string;
  path: string;
  part: string;
  at: number;
  port?: boolean;
  every?: number;
  line?: "IRQ" | "FIRQ" | "NMI" | "INT";
}

export interface BenchComputer {
  name: string;
  cpu?: { part?: string; chip?: Chip; clock?: Quantity; handling?: Quantity; startUp?: Quantity; start?: number };
  regions: readonly BenchRegion[];
  translation?: NonNullable<NonNullable<BenchFile["computer"]>["translation"]>;
  latches: readonly BenchLatch[];
  logic: BenchLogic;
  paths: readonly BenchPath[];
  boards: readonly BenchBoard[];
  rails: readonly BenchRail[];
  controller?: BenchController;
  tick?: { at: number; bit?: number; every: number; interrupts?: boolean };
  /** What a test program can show its verdict with. */
  signals?: NonNullable<NonNullable<BenchFile["computer"]>["signals"]>;
  timers: readonly BenchTimer[];
  mains?: "inside" | "outside";
}

export interface BenchBus {
  name: string;
  path: string;
  kind: string;
  /** Everything with an address on it, drives included. */
  devices: readonly { name: string; path: string; address?: number }[];
  cables: readonly { between?: readonly string[]; length: Quantity }[];
  /** Bytes of sectors moved, in bit/s, and the time to ask for one. */
  rate?: Quantity;
  command?: Quantity;
}

export interface BenchDrive {
  name: string;
  path: string;
  title: string;
  class?: string;
  bus?: string;
  address?: number;
  unit?: number;
  size?: Sourced<string>;
  sides?: Sourced<number>;
  tracks?: Sourced<number>;
  trackDensity?: Sourced;
  rotation?: Sourced;
  codes?: Sourced<readonly RecordingCode[]>;
  rates?: readonly Sourced[];
  coercivity?: { low: Sourced; high: Sourced };
  fileKinds?: Sourced<readonly string[]>;
  step?: Sourced;
  settle?: Sourced;
  headLoad?: Sourced;
  motorStart?: Sourced;
  /** Sector buffers of its controller. */
  buffers?: number;
  interleave?: number;
  skew?: number;
  /** Connector that its class has: "IEEE 488", "34-pin". */
  busKind?: Sourced<string>;
}

export interface BenchMedium {
  name: string;
  path: string;
  title: string;
  class?: MediumClass;
  size?: Sourced<string>;
  sides?: Sourced<number>;
  coercivity?: Sourced;
  trackDensity?: Sourced;
  bitDensity?: Sourced;
}

export interface BenchImage {
  name: string;
  path: string;
  file: string;
  recording?: Recording;
  medium?: BenchMedium;
  drive?: BenchDrive;
  interleave?: number;
  skew?: number;
  origin: Origin;
}

/** One end of a line: what a port and a terminal have in common. */
export interface LineEnd {
  name: string;
  path: string;
  connector?: Connector;
  role?: "DTE" | "DCE";
  /** Circuit on a pin where the bench says so. */
  pins: ReadonlyMap<number, string>;
  levels?: LevelFamily;
  /** "7E1" */
  format?: string;
  handshake?: "none" | "lines" | "characters";
  /** Contacts of the connector on the machine; the cable's plug has the other kind. */
  contacts?: "pins" | "sockets";
  /** Longest time in which received characters are not taken away, and how many are kept meanwhile. */
  away?: Quantity;
  buffer?: number;
}

export interface BenchPort extends LineEnd {
  uart?: string;
  chip?: Chip;
  at?: number;
  /** Of its control register, where that isn't behind the data register (SIO). */
  control?: number;
  clock?: Quantity;
  divide?: number;
  ratio?: number;
  divisor?: number;
  code?: number;
  /** A timer between clock and rate input, or one that times the bits. */
  timer?: { part: string; chip?: Chip; at?: number; channel?: number; prescale?: number; count?: number };
  /** Clock cycles a bit, where a program makes the bits. */
  bitCycles?: number;
  driver?: { part: string; chip?: Chip };
  receiver?: { part: string; chip?: Chip };
}

export interface BenchTerminal extends LineEnd {
  title: string;
  class?: TerminalClass;
  rate?: Quantity;
  rateError?: Quantity;
  columns?: Sourced<number>;
  rows?: Sourced<number>;
  controls?: Sourced<readonly string[]>;
  display?: "picture tube" | "flat panel" | "paper";
  characterHeight?: Quantity;
}

export interface BenchCable {
  name: string;
  path: string;
  from: BenchPort;
  to: BenchTerminal;
  /** Left out where nobody knows what the cable joins. */
  kind?: NonNullable<NonNullable<BenchFile["cables"]>[string]["kind"]>;
  wires?: readonly (readonly [number, number])[];
  jumpersFrom: readonly (readonly [number, number])[];
  jumpersTo: readonly (readonly [number, number])[];
  length?: Quantity;
  capacitance?: Quantity;
}

export interface BenchWriter {
  name: string;
  path: string;
  command: readonly string[];
  readBack?: readonly string[];
  progress?: string;
  limit?: Quantity;
}

export interface BenchShow {
  path: string;
  target?: "login" | "prompt" | "program";
  program?: string;
  image?: BenchImage;
  port?: BenchPort;
  terminal?: BenchTerminal;
  people?: number;
  distance?: Quantity;
  logins?: number;
  loginMemory?: Quantity;
  patience?: Quantity;
  /** Characters printed up to the prompt. */
  banner?: number;
}

export interface Bench {
  name: string;
  about?: string;
  computer?: BenchComputer;
  buses: readonly BenchBus[];
  drives: readonly BenchDrive[];
  media: readonly BenchMedium[];
  images: readonly BenchImage[];
  ports: readonly BenchPort[];
  terminals: readonly BenchTerminal[];
  cables: readonly BenchCable[];
  writers: readonly BenchWriter[];
  show?: BenchShow;
}
