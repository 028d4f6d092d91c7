import type { Bench, BenchDrive, BenchImage } from "../bench/index.ts";
import type { Recording, Source, Sourced } from "../catalogue/index.ts";
import { InputError } from "../errors/index.ts";
import { portRate, readFrame } from "../line/index.ts";
import { type Dimension, formatValue, type Quantity } from "../quantity/index.ts";
import type { SystemReport } from "../system/index.ts";
import type { Volume } from "../volume/index.ts";

/** An image with what was found on it; without a volume only whole-disk jobs can be timed. */
export interface TimedImage {
  name: string;
  volume?: Volume;
  system?: SystemReport;
}

export type ParameterId =
  | "rotation"
  | "step"
  | "settle"
  | "headLoad"
  | "motorStart"
  | "buffers"
  | "interleave"
  | "skew"
  | "busRate"
  | "command"
  | "handling"
  | "startUp"
  | "lineRate"
  | "banner";

/** A number the time rests on, in the base unit of its dimension. Without a value it is missing. */
export interface Parameter {
  id: ParameterId;
  label: string;
  /** Key in the bench file that gives it. */
  key: string;
  dimension: Dimension;
  value?: number;
  low?: number;
  high?: number;
  source?: Source;
  note?: string;
}

const COMMON: Source = { id: "common practice", title: "common practice, no source", kind: "common practice" };
const MEMORY: Source = { id: "memory", title: "from memory, not confirmed", kind: "memory" };
const OWN: Source = { id: "bench", title: "your bench file", kind: "user" };
const ARITHMETIC: Source = { id: "arithmetic", title: "plain arithmetic on the values shown", kind: "arithmetic" };

/** Where fitted values are sought: no bench that ran at all lies outside. Common practice, no source. */
export const BOUNDS: Readonly<Record<ParameterId, readonly [low: number, high: number]>> = {
  rotation: [4, 7],
  step: [0.001, 0.06],
  settle: [0, 0.06],
  headLoad: [0, 0.12],
  motorStart: [0, 3],
  buffers: [0, 4],
  interleave: [1, 26],
  skew: [0, 26],
  busRate: [8 * 100, 8 * 200_000],
  command: [0, 0.5],
  handling: [0, 0.5],
  startUp: [0, 60],
  lineRate: [50, 115_200],
  banner: [0, 4000],
};

/** Buses on which the drive has a controller of its own, with at least one buffer. */
const WITH_CONTROLLER = /IEEE 488|serial bus/;

export interface TimedBench {
  parameters: readonly Parameter[];
  image: BenchImage;
  drive?: BenchDrive;
  recording?: Recording;
  /** Bits of a character on the line. */
  frameBits?: number;
  /** Keys without which nothing can be said. */
  lacking: readonly string[];
}

const imageNamed = (bench: Bench, name: string | undefined): BenchImage => {
  const found =
    name === undefined ? (bench.show?.image ?? bench.images[0]) : bench.images.find((each) => each.name === name);
  if (found) return found;
  const known = bench.images.map((each) => `“${each.name}”`).join(", ");
  throw new InputError(
    "no-such-image",
    name === undefined
      ? "The bench has no image; describe one under images."
      : `There is no image “${name}” on this bench${known ? `; there is ${known}` : ""}.`,
  );
};

/** Everything that the times of an image's drive rest on, with sources; what nobody gave is there without a value. */
export function timedBench(bench: Bench, imageName?: string): TimedBench {
  const image = imageNamed(bench, imageName);
  const { drive, recording } = image;
  const bus = bench.buses.find((each) => each.name === drive?.bus);
  const at = drive?.path ?? "drives";
  const parameters: Parameter[] = [];
  const add = (
    id: ParameterId,
    label: string,
    key: string,
    dimension: Dimension,
    found: Sourced | { value: number; source: Source; note?: string } | undefined,
  ): void => {
    if (!found) {
      parameters.push({ id, label, key, dimension });
      return;
    }
    const { value, low, high } =
      typeof found.value === "number" ? { value: found.value, low: found.value, high: found.value } : found.value;
    const note = found.note === undefined ? {} : { note: found.note };
    parameters.push({ id, label, key, dimension, value, low, high, source: found.source, ...note });
  };
  const own = (value: Quantity | number | undefined, otherwise?: { value: number; source: Source; note?: string }) =>
    value === undefined
      ? otherwise
      : typeof value === "number"
        ? { value, source: OWN }
        : ({ value, source: OWN } satisfies Sourced);
  const known = drive?.class !== undefined;

  add("rotation", "speed of the spindle", `${at}.rotation`, "rotation", drive?.rotation ?? recording?.rotation);
  add("step", "step from track to track", `${at}.step`, "time", drive?.step);
  add("settle", "settling after the last step", `${at}.settle`, "time", drive?.settle);
  add(
    "headLoad",
    "loading the head",
    `${at}.headLoad`,
    "time",
    drive?.headLoad ??
      (known
        ? { value: 0, source: COMMON, note: "heads of this class rest on the disk while the door is shut" }
        : undefined),
  );
  add(
    "motorStart",
    "starting the motor",
    `${at}.motorStart`,
    "time",
    drive?.motorStart ??
      (known ? { value: 0, source: COMMON, note: "the motor of this class turns all the time" } : undefined),
  );
  const busKind = bus?.kind ?? drive?.busKind?.value;
  add(
    "buffers",
    "sectors that the controller keeps",
    `${at}.buffers`,
    "count",
    own(
      drive?.buffers,
      busKind === undefined
        ? undefined
        : WITH_CONTROLLER.test(busKind)
          ? { value: 1, source: MEMORY, note: "a drive with a controller of its own keeps one at least" }
          : { value: 0, source: COMMON, note: "on a drive bus the bytes go on as they pass the head" },
    ),
  );
  const written = image.interleave !== undefined ? image : drive;
  add(
    "interleave",
    "interleave",
    `${written?.path ?? image.path}.interleave`,
    "count",
    own(written?.interleave, { value: 1, source: COMMON, note: "sectors in order, unless the bench says otherwise" }),
  );
  const skewed = image.skew !== undefined ? image : drive;
  add(
    "skew",
    "skew from track to track",
    `${skewed?.path ?? image.path}.skew`,
    "count",
    own(skewed?.skew, { value: 0, source: COMMON, note: "none, unless the bench says otherwise" }),
  );
  const busPath = bus?.path ?? "buses";
  add("busRate", "rate of the bus", `${busPath}.rate`, "rate", own(bus?.rate));
  add(
    "command",
    "asking for a sector",
    `${busPath}.command`,
    "time",
    own(bus?.command, { value: 0, source: COMMON, note: "counted with the handling, unless the bench parts them" }),
  );
  add(
    "handling",
    "handling of a sector by the CPU",
    "computer.cpu.handling",
    "time",
    own(bench.computer?.cpu?.handling),
  );
  add(
    "startUp",
    "from reset to the first sector",
    "computer.cpu.startUp",
    "time",
    own(bench.computer?.cpu?.startUp, { value: 0, source: COMMON, note: "not counted, unless the bench says" }),
  );

  const cable = bench.cables.find((each) => !bench.show?.port || each.from === bench.show.port);
  const port = bench.show?.port ?? cable?.from;
  const terminal = bench.show?.terminal ?? cable?.to;
  const made = port && portRate(port);
  const line = made?.known
    ? { value: { ...quantityOf(made.rate), low: made.low, high: made.high }, source: ARITHMETIC }
    : terminal?.rate && { value: terminal.rate, source: OWN };
  add(
    "lineRate",
    "rate of the line",
    made?.known || !terminal ? `${port?.path ?? "ports"}.clock` : `${terminal.path}.rate`,
    "rate",
    line,
  );
  add("banner", "characters up to the prompt", "show.banner", "count", own(bench.show?.banner));
  const format = port?.format ?? terminal?.format;

  return {
    parameters,
    image,
    ...(drive ? { drive } : {}),
    ...(recording ? { recording } : {}),
    ...(format === undefined ? {} : { frameBits: readFrame(format).bits }),
    lacking: [...(drive ? [] : [`${image.path}.drive`]), ...(recording ? [] : [`${image.path}.recording`])],
  };
}

const TRIED: Source = { id: "tried", title: "a value that you try", kind: "user" };

/** The same with values that a person tries in place of the bench's own; in the base unit of their dimension. */
export const withTried = (timed: TimedBench, tried?: ReadonlyMap<ParameterId, number>): TimedBench => ({
  ...timed,
  parameters: timed.parameters.map((each) => {
    const value = tried?.get(each.id);
    if (value === undefined) return each;
    const { id, label, key, dimension } = each;
    return { id, label, key, dimension, value, low: value, high: value, source: TRIED };
  }),
});

const quantityOf = (value: number): Quantity => ({
  dimension: "rate",
  value,
  low: value,
  high: value,
  text: formatValue(value, "rate"),
});
