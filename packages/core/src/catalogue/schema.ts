import * as z from "zod";
import { nearest } from "../errors/nearest.ts";

/**
 * The shape of a catalogue file. It holds the built-in files in the tests and the users' files when they are read; whether
 * a value has the right unit is `resolvePart`'s to say. Not for the loader's import path: zod costs start-up time.
 */

const list = (words: Iterable<string>): string => [...words].join(", ");

/** A strict group: an unknown key is named, with the nearest right one. */
const group = <Shape extends z.ZodRawShape>(shape: Shape) =>
  z.strictObject(shape, {
    error: (issue) => {
      if (issue.code === "invalid_type") return `expected a group of ${list(Object.keys(shape))}`;
      if (issue.code !== "unrecognized_keys") return undefined;
      const key = issue.keys[0] ?? "";
      const meant = nearest(key, Object.keys(shape));
      return meant
        ? `“${key}” is no key here; did you mean “${meant}”?`
        : `“${key}” is no key here; known are ${list(Object.keys(shape))}`;
    },
  });

const text = z.string({ error: "expected a text" }).min(1, "expected a text that is not empty");
/** Part numbers and frames are easily written as bare numbers, and YAML then reads 7E1 as 70. */
const quoted = z
  .string({ error: 'expected a text: put it in quotes, as in "7E1" or "6850"' })
  .min(1, "expected a text that is not empty");
const whole = z.int({ error: "expected a whole number" }).nonnegative("expected a number that is not negative");
const positive = z.int({ error: "expected a whole number" }).positive("expected a number above 0");
const oneOf = <const Words extends readonly [string, ...string[]]>(...words: Words) =>
  z.enum(words, { error: `expected one of ${list(words)}` });
const listOf = <Item extends z.ZodType>(item: Item) => z.array(item, { error: "expected a list" });

/** `source` and `note` may stand in any group that holds values. */
const cited = { source: text.optional(), note: text.optional() };
const full = group({ is: text, ...cited });
const value = z.custom<string | z.infer<typeof full>>().superRefine((each, context) => {
  if (typeof each === "string") return;
  if (typeof each === "number") {
    context.addIssue({ code: "custom", message: `${each} has no unit; expected something like “4.4 mA”` });
    return;
  }
  const result = full.safeParse(each);
  for (const issue of result.error?.issues ?? [])
    context.addIssue({ code: "custom", path: [...issue.path], message: issue.message });
});
const optional = value.optional();
const range = group({ from: optional, to: optional, ...cited });
const bounded = group({ from: value, to: value, ...cited });

const source = group({
  id: text,
  title: text,
  kind: oneOf("standard", "data sheet", "manual", "arithmetic", "common practice", "memory", "user").optional(),
});

const frame = quoted.regex(/^[5-9][NEOMS](?:1|1\.5|2)$/, "expected a frame like “8N1” or “7E2”");
const formFactor = oneOf("8-inch", "5.25-inch", "3.5-inch");
const code = oneOf("FM", "MFM", "zoned 4-to-5 group code");
const family = oneOf("V.28", "TTL 5 V", "TTL 3.3 V", "V.10", "current loop");
const sides = z.literal([1, 2], { error: "expected 1 or 2" });

const chip = group({
  ...cited,
  part: quoted,
  title: text,
  kind: oneOf("logic", "memory", "cpu", "uart", "parallel port", "timer", "line driver", "line receiver", "regulator"),
  family: text.optional(),
  supply: listOf(
    group({
      ...cited,
      rail: text.regex(/^[+-]\d+(?:\.\d+)? V$/, "expected a rail like “+5 V” or “-12 V”"),
      typical: optional,
      max: optional,
    }),
  ).optional(),
  output: group({
    ...cited,
    type: oneOf("totem-pole", "three-state", "open-collector", "MOS"),
    high: optional,
    low: optional,
  }).optional(),
  input: group({ ...cited, high: optional, low: optional, capacitance: optional }).optional(),
  delays: listOf(group({ ...cited, path: text, typical: optional, max: optional })).optional(),
  memory: group({
    ...cited,
    type: oneOf("static", "dynamic", "EPROM", "register file"),
    words: positive,
    bits: positive,
    access: optional,
    refresh: group({ ...cited, rows: positive, within: value }).optional(),
  }).optional(),
  cpu: group({
    ...cited,
    instructionSet: quoted,
    clockMax: optional,
    addressBits: positive,
    bus: group({
      ...cited,
      addressDelay: optional,
      readSetup: optional,
      readHold: optional,
      addressHold: optional,
      writeDataDelay: optional,
      access: optional,
    }).optional(),
  }).optional(),
  uart: group({
    ...cited,
    kind: z.enum(["6551", "6850", "8251", "16450", "SIO"], {
      error: 'expected one of "6551", "6850", "8251", "16450", SIO, the numbers in quotes',
    }),
    generator: oneOf("selected", "divided", "programmed"),
    ratios: listOf(positive).optional(),
    counts: listOf(
      group({ code: whole, rate: z.number({ error: "expected a number" }).positive(), count: positive }),
    ).optional(),
    frames: listOf(frame),
    receiveBuffer: positive,
  }).optional(),
  line: group({
    ...cited,
    family,
    channels: positive,
    outputHigh: optional,
    outputLow: optional,
    inputMax: optional,
  }).optional(),
  regulator: group({
    ...cited,
    output: value,
    current: optional,
    dropout: optional,
    inputMax: optional,
    junctionMax: optional,
    junctionToCase: optional,
    junctionToAmbient: optional,
  }).optional(),
});

const drive = group({
  ...cited,
  id: text,
  title: text,
  size: formFactor,
  sides,
  tracks: positive,
  trackDensity: value,
  rotation: value,
  codes: listOf(code),
  rates: listOf(value),
  coercivity: group({ ...cited, low: value, high: value }).optional(),
  step: optional,
  settle: optional,
  headLoad: optional,
  motorStart: optional,
  bus: text,
});

const medium = group({
  ...cited,
  id: text,
  title: text,
  size: formFactor,
  sides,
  coercivity: value,
  trackDensity: value,
  bitDensity: value,
  sectoring: oneOf("soft", "hard"),
});

const gap = whole.max(4096);

const recording = group({
  ...cited,
  id: text,
  title: text,
  code,
  size: formFactor,
  geometry: group({
    tracks: positive.max(1024),
    sides,
    zones: listOf(
      group({
        from: whole,
        to: whole,
        side: z.literal([0, 1], { error: "expected 0 or 1" }).optional(),
        sectors: positive.max(1024),
        size: positive.max(65_536),
      }),
    ),
    order: oneOf("side-within-track", "side-after-side"),
    firstTrack: whole,
    firstSector: whole,
  }),
  capacity: value,
  layout: listOf(
    group({
      ...cited,
      beforeIndex: gap.optional(),
      afterIndex: gap.optional(),
      afterId: gap,
      afterData: gap,
    }),
  ).optional(),
  trackZero: group({ ...cited, code, rate: value }).optional(),
  trackDensity: value,
  rotation: value,
  rates: listOf(value),
  media: listOf(text),
});

const connector = group({
  ...cited,
  id: text,
  title: text,
  pins: positive,
  circuits: listOf(
    group({
      pin: positive,
      name: text,
      v24: quoted.optional(),
      from: oneOf("DTE", "DCE", "both"),
    }),
  ),
});

const codeBytes = quoted.regex(
  /^[0-9A-Fa-f]{2}(?: [0-9A-Fa-f]{2}){0,3}$/,
  'expected bytes in hex, like "0C" or "1B 54"',
);
const terminalCodes = group({
  left: codeBytes.optional(),
  right: codeBytes.optional(),
  up: codeBytes.optional(),
  down: codeBytes.optional(),
  home: codeBytes.optional(),
  clear: codeBytes.optional(),
  eraseLine: codeBytes.optional(),
  eraseScreen: codeBytes.optional(),
  insertLine: codeBytes.optional(),
  deleteLine: codeBytes.optional(),
  insertCharacter: codeBytes.optional(),
  deleteCharacter: codeBytes.optional(),
  place: group({
    lead: codeBytes,
    order: oneOf("row first", "column first"),
    offset: whole.max(127, "expected a number up to 127"),
  }).optional(),
});

const yesNo = z.boolean({ error: "expected true or false" });
const terminal = group({
  ...cited,
  id: text,
  title: text,
  columns: positive,
  rows: positive,
  letters: oneOf("upper case only", "upper and lower case"),
  wraps: yesNo,
  scrolls: yesNo,
  addressing: oneOf("none", "relative", "absolute"),
  controls: listOf(text),
  characterSet: text,
  rates: listOf(z.number({ error: "expected a number" }).positive()),
  frames: listOf(frame),
  display: oneOf("screen", "paper").optional(),
  wrapping: oneOf("with the next character", "at once").optional(),
  returnFeeds: yesNo.optional(),
  feedReturns: yesNo.optional(),
  tabs: whole.optional(),
  codes: terminalCodes.optional(),
});

const levels = group({
  ...cited,
  id: family,
  title: text,
  mark: bounded.optional(),
  space: bounded.optional(),
  receivedMark: range.optional(),
  receivedSpace: range.optional(),
  open: optional,
  survives: bounded.optional(),
  load: bounded.optional(),
  capacitance: optional,
  shortCircuit: optional,
  poweredOff: optional,
  rate: optional,
  markCurrent: optional,
  spaceCurrent: optional,
});

export const catalogueSchema = group({
  sources: listOf(source).optional(),
  chips: listOf(chip).optional(),
  drives: listOf(drive).optional(),
  media: listOf(medium).optional(),
  recordings: listOf(recording).optional(),
  connectors: listOf(connector).optional(),
  terminals: listOf(terminal).optional(),
  levels: listOf(levels).optional(),
});
