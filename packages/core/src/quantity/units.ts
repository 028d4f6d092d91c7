/** What a value measures. Every quantity is kept in the base unit named here. */
export type Dimension =
  | "frequency" // Hz
  | "voltage" // V
  | "current" // A
  | "power" // W
  | "resistance" // Ω
  | "capacitance" // F
  | "time" // s
  | "length" // m
  | "rate" // bit/s
  | "rotation" // rev/s
  | "memory" // bytes
  | "temperature" // °C
  | "thermal" // °C/W
  | "trackDensity" // tracks/m
  | "bitDensity" // flux transitions per radian
  | "coercivity" // A/m
  | "share" // 1 (a percentage is 0.01)
  | "count"; // 1

interface UnitRow {
  dimension: Dimension;
  /** Base units in one of this unit. */
  factor: number;
}

const INCH = 0.0254;

/** Units as written. Case matters where SI says so (`mA`, `MHz`); `ohm` and `u` stand in for Ω and µ. */
export const UNITS: Readonly<Record<string, UnitRow>> = {
  Hz: { dimension: "frequency", factor: 1 },
  kHz: { dimension: "frequency", factor: 1e3 },
  MHz: { dimension: "frequency", factor: 1e6 },
  mV: { dimension: "voltage", factor: 1e-3 },
  V: { dimension: "voltage", factor: 1 },
  kV: { dimension: "voltage", factor: 1e3 },
  nA: { dimension: "current", factor: 1e-9 },
  µA: { dimension: "current", factor: 1e-6 },
  mA: { dimension: "current", factor: 1e-3 },
  A: { dimension: "current", factor: 1 },
  mW: { dimension: "power", factor: 1e-3 },
  W: { dimension: "power", factor: 1 },
  Ω: { dimension: "resistance", factor: 1 },
  kΩ: { dimension: "resistance", factor: 1e3 },
  MΩ: { dimension: "resistance", factor: 1e6 },
  pF: { dimension: "capacitance", factor: 1e-12 },
  nF: { dimension: "capacitance", factor: 1e-9 },
  µF: { dimension: "capacitance", factor: 1e-6 },
  ps: { dimension: "time", factor: 1e-12 },
  ns: { dimension: "time", factor: 1e-9 },
  µs: { dimension: "time", factor: 1e-6 },
  ms: { dimension: "time", factor: 1e-3 },
  s: { dimension: "time", factor: 1 },
  min: { dimension: "time", factor: 60 },
  h: { dimension: "time", factor: 3600 },
  mm: { dimension: "length", factor: 1e-3 },
  cm: { dimension: "length", factor: 1e-2 },
  m: { dimension: "length", factor: 1 },
  in: { dimension: "length", factor: INCH },
  ft: { dimension: "length", factor: 0.3048 },
  "bit/s": { dimension: "rate", factor: 1 },
  "kbit/s": { dimension: "rate", factor: 1e3 },
  "Mbit/s": { dimension: "rate", factor: 1e6 },
  "byte/s": { dimension: "rate", factor: 8 },
  "KiB/s": { dimension: "rate", factor: 8 * 1024 },
  Bd: { dimension: "rate", factor: 1 },
  rpm: { dimension: "rotation", factor: 1 / 60 },
  "rev/s": { dimension: "rotation", factor: 1 },
  byte: { dimension: "memory", factor: 1 },
  bytes: { dimension: "memory", factor: 1 },
  B: { dimension: "memory", factor: 1 },
  KiB: { dimension: "memory", factor: 1024 },
  MiB: { dimension: "memory", factor: 1024 * 1024 },
  "°C": { dimension: "temperature", factor: 1 },
  "°C/W": { dimension: "thermal", factor: 1 },
  tpi: { dimension: "trackDensity", factor: 1 / INCH },
  "tracks/mm": { dimension: "trackDensity", factor: 1e3 },
  ftprad: { dimension: "bitDensity", factor: 1 },
  "A/m": { dimension: "coercivity", factor: 1 },
  "kA/m": { dimension: "coercivity", factor: 1e3 },
  Oe: { dimension: "coercivity", factor: 1000 / (4 * Math.PI) },
  "%": { dimension: "share", factor: 0.01 },
};

/** How a value of each dimension is printed: the largest of these units that keeps the number at 1 or more. */
export const PRINTED: Readonly<Record<Dimension, readonly string[]>> = {
  frequency: ["MHz", "kHz", "Hz"],
  voltage: ["V", "mV"],
  current: ["A", "mA", "µA", "nA"],
  power: ["W", "mW"],
  resistance: ["MΩ", "kΩ", "Ω"],
  capacitance: ["µF", "nF", "pF"],
  time: ["s", "ms", "µs", "ns"],
  length: ["m", "cm", "mm"],
  rate: ["bit/s"],
  rotation: ["rpm"],
  memory: ["KiB", "bytes"],
  temperature: ["°C"],
  thermal: ["°C/W"],
  trackDensity: ["tpi"],
  bitDensity: ["ftprad"],
  coercivity: ["kA/m", "A/m"],
  share: ["%"],
  count: [""],
};

/** Spellings that stand for another: plain keyboards have no Ω, µ or °. */
export const SPELLINGS: Readonly<Record<string, string>> = {
  ohm: "Ω",
  ohms: "Ω",
  kohm: "kΩ",
  Mohm: "MΩ",
  uA: "µA",
  us: "µs",
  uF: "µF",
  μA: "µA",
  μs: "µs",
  μF: "µF",
  K: "KiB",
  C: "°C",
  degC: "°C",
  "C/W": "°C/W",
  bps: "bit/s",
  "bytes/s": "byte/s",
  sec: "s",
};
