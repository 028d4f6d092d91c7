import { formatQuantity, formatValue } from "../../../quantity/index.ts";
import type { Cause, FaultInPlace, Outcome, Test } from "../types.ts";
import { bad, cured, good, inTurn, LINES, outcome, type TestKit, test } from "./kit.ts";

/** A frequency counter and a crystal together are better than this (judgement). */
const CLOCK_SHARE = 0.01;
/** An input is high for sure above this; 74LS data sheet SDLS025B. */
const HIGH = 2;

/** Measuring in the computer with its board in reach: power on, low voltage, strap off. */
export const PROBE = { kind: "measure", link: "board", inside: true, risk: "some", hazards: ["static"] } as const;
export const PROBES = ["logic probe or oscilloscope"];
export const SLIP = "A probe that slips joins two legs: one leg at a time, magnifier on.";

export function boardTests(kit: TestKit): Test[] {
  const { computer, causes } = kit;
  if (!computer) return [];
  const chips = causes.filter((each) => each.kind === "chip");
  return [
    clock(kit),
    reset,
    address,
    data,
    select,
    ...(chips.some(hasNode("strobes")) ? [strobes] : []),
    ...(chips.some(hasNode("interrupt")) ? [interrupt] : []),
    ...roms(chips),
    ...memory(chips),
    pressHome,
    joints,
    heat(chips),
    warmAndCool(kit),
    ...computer.boards.filter((each) => each.added).map(({ name }) => without(name)),
    slower,
  ];
}

const hasNode =
  (node: string) =>
  ({ faults }: Cause): boolean =>
    faults.some((each) => each.node === node);

function clock({ computer }: TestKit): Test {
  const wanted = computer?.cpu?.clock;
  const limits = wanted && [
    Math.min(wanted.low, wanted.value * (1 - CLOCK_SHARE)),
    Math.max(wanted.high, wanted.value * (1 + CLOCK_SHARE)),
  ];
  const words = wanted ? formatQuantity(wanted) : "steady, at the rate of the machine";
  return test({
    ...PROBE,
    id: "clock",
    title: "Measure the clock at the CPU",
    how: [SLIP, `Counter or scope on the clock leg of the CPU: ${words}.`],
    tools: ["oscilloscope or counter"],
    outcomes: [good(words), outcome("none", "no clock", "no clock"), outcome("other", "another frequency, or ragged")],
    minutes: 3,
    ...(limits
      ? {
          reading: {
            dimension: "frequency" as const,
            names: ["clock", "CPU clock", "clock present"],
            wanted: words,
            outcomeOf: (value: number) =>
              value < wanted.value * 0.01 ? "none" : value >= limits[0]! && value <= limits[1]! ? "good" : "other",
          },
        }
      : {}),
    chances: (fault) => {
      const stops = fault.stops("clock");
      const other =
        fault.node === "clock" && fault.manner === "wrong" ? 0.95 : fault.manner === "sometimes" ? 0.3 : 0.03;
      return [1 - stops, stops * (1 - other), stops * other];
    },
  });
}

const reset = test({
  ...PROBE,
  id: "reset",
  title: "Measure the reset leg of the CPU",
  how: [SLIP, "It is low for a moment after switching on, then high and still."],
  tools: PROBES,
  outcomes: [
    good(`high and still, above ${formatValue(HIGH, "voltage")}`),
    outcome("held", "stays low", "reset held"),
    outcome("pulses", "comes and goes"),
  ],
  minutes: 2,
  reading: {
    dimension: "voltage",
    names: ["reset", "reset line"],
    wanted: `above ${formatValue(HIGH, "voltage")}`,
    outcomeOf: (value) => (value >= HIGH ? "good" : "held"),
  },
  chances: (fault) => {
    const stops = fault.stops("reset");
    const held = fault.node === "reset" && fault.manner !== "dead" ? 0.5 : 0.92;
    return [1 - stops, stops * held, stops * (1 - held)];
  },
});

/** What lines do while the CPU stands still or runs wild for another reason. */
const elsewhere = (fault: FaultInPlace): readonly number[] =>
  inTurn(
    fault,
    [
      ["supply", [0, 0.05, 0.95]],
      ["clock", [0.02, 0.06, 0.92]],
      ["reset", [0.05, 0.05, 0.9]],
      ["rom", [0.75, 0.1, 0.15]],
      ["cpu", [0.25, 0.15, 0.6]],
    ],
    [1, 0, 0],
  );

const lines = (id: string, node: string, title: string, how: string, minutes: number): Test =>
  test({
    ...PROBE,
    id,
    title,
    how: [SLIP, how],
    tools: PROBES,
    outcomes: [...LINES],
    minutes,
    misleads: 0.03,
    chances: (fault) => {
      if (fault.node !== node) return elsewhere(fault);
      const stops = fault.stops(node);
      return [1 - stops, stops * 0.93, stops * 0.07];
    },
  });

const address = lines(
  "address",
  "address",
  "Probe the address lines",
  "Every address line, at the CPU and after its buffers.",
  5,
);
const data = lines("data", "data", "Probe the data lines", "Every data line, at the CPU and after its buffers.", 4);

const select = test({
  ...PROBE,
  id: "select",
  title: "Probe the select lines",
  how: [SLIP, "The select leg of each ROM, RAM and port, from reset on: which is never chosen, which two at once?"],
  tools: PROBES,
  outcomes: [
    good("each is chosen in its turn"),
    outcome("never", "one never, or two at once"),
    outcome("none", "none is chosen"),
  ],
  minutes: 4,
  misleads: 0.03,
  chances: (fault) => {
    if (fault.node !== "select") {
      const [all = 0, some = 0, none = 0] = fault.node === "address" ? [0.4, 0.5, 0.1] : elsewhere(fault);
      return [all, some, none];
    }
    const stops = fault.stops("select");
    return [1 - stops, stops * 0.93, stops * 0.07];
  },
});

const strobes = test({
  ...PROBE,
  id: "strobes",
  link: "memory",
  title: "Probe strobes and addresses of the memory chips",
  how: [SLIP, "Row strobe, column strobe, write and the multiplexed address legs of one chip in each row."],
  tools: PROBES,
  outcomes: [...LINES],
  minutes: 5,
  misleads: 0.03,
  chances: (fault) => {
    if (fault.node === "strobes") {
      const stops = fault.stops("strobes");
      return [1 - stops, stops * 0.93, stops * 0.07];
    }
    const still = fault.stops("strobes");
    return [1 - still, still * 0.35, still * 0.65];
  },
});

const interrupt = test({
  ...PROBE,
  id: "interrupt",
  title: "Probe the interrupt leg of the CPU",
  how: [SLIP, "It pulses as the ticker or a port asks."],
  tools: PROBES,
  outcomes: [good("pulses"), outcome("still", "never moves, or stays low")],
  minutes: 3,
  misleads: 0.05,
  ...bad((fault) => Math.max(fault.stops("interrupt") * 0.95, fault.stops("cpu") * 0.8, fault.stops("boot") * 0.1)),
});

/** Each ROM that can be read out is an outcome. */
function roms(chips: readonly Cause[]): Test[] {
  const some = chips.filter(hasNode("rom"));
  if (some.length === 0) return [];
  return [
    test({
      id: "rom-read",
      kind: "run",
      link: "memory",
      title: "Read the ROMs out and compare",
      how: [
        "Power off, strap on; lift each ROM, read it in a ROM reader, compare with a copy that is known to be good.",
        "A soldered ROM is read by the monitor instead, where that still runs.",
      ],
      tools: ["ROM reader", "grounded mat and wrist strap"],
      outcomes: [good("all bytes agree"), ...some.map(({ id, part }) => outcome(id, `${part} differs`))],
      minutes: 8,
      inside: true,
      risk: "low",
      hazards: ["static"],
      misleads: 0.01,
      chances: (fault) => {
        const share = { dead: 0.95, wrong: 0.97, warm: 0.25, cold: 0.25, sometimes: 0.2 }[fault.manner];
        return [1, ...some.map(({ id }) => (id === fault.cause.id ? share / (1 - share) : 0))];
      },
    }),
  ];
}

/** The test programs of `rouse diag`: each memory chip that has a place of its own is an outcome. */
function memory(chips: readonly Cause[]): Test[] {
  const some = chips.filter(
    ({ link, faults }) => link === "memory" && faults.some(({ node }) => node === "ram" || node === "banks"),
  );
  const bits = some.filter((each) => each.kind === "chip");
  const outcomes: Outcome[] = [
    outcome("silent", "it does not run, or says nothing", "memory test says nothing"),
    good("passes"),
    outcome("all bits", "all bits at many addresses", "all bits fail"),
    outcome("banks", "banks or blocks repeat one another", "banks repeat"),
    ...bits.map(({ id, part }) => outcome(id, `names ${part}`)),
  ];
  return [
    test({
      id: "memory-test",
      kind: "run",
      link: "memory",
      title: "Run the memory test made for this bench",
      how: [
        "`rouse diag JOB` writes it: type it in at the monitor, or burn it and put it in the place of the monitor ROM.",
        "Its first stage uses no RAM; it speaks through the port. Let it walk memory and banks twice.",
      ],
      tools: ["ROM writer, unless the monitor runs"],
      outcomes,
      minutes: 10,
      inside: true,
      risk: "low",
      hazards: ["static"],
      misleads: 0.01,
      chances: (fault) => {
        const silent = fault.stops("speaks");
        const own = bits.findIndex(({ id }) => id === fault.cause.id);
        const fails = Math.max(fault.stops("ram"), fault.stops("banks")) * (1 - silent);
        const found = outcomes.map(() => 0);
        const add = (index: number, share: number) => {
          found[index] = found[index]! + share;
        };
        add(0, silent);
        add(1, Math.max(0, 1 - silent - fails));
        if (own >= 0) {
          add(4 + own, fails * 0.93);
          add(2, fails * 0.04);
          add(3, fails * 0.03);
        } else if (fault.node === "banks") {
          add(3, fails * 0.9);
          add(2, fails * 0.1);
        } else add(2, fails);
        return found;
      },
    }),
  ];
}

const pressHome = test({
  id: "press-home",
  kind: "exchange",
  link: "board",
  title: "Press chips and ribbons home",
  how: ["Power off, strap on; lift and press each socketed chip and each ribbon plug. Then start again."],
  tools: ["grounded mat and wrist strap"],
  minutes: 5,
  inside: true,
  risk: "low",
  hazards: ["static"],
  ...cured((fault) => (fault.is("socket") ? 0.85 : fault.is("ribbon") ? 0.7 : fault.is("joint") ? 0.12 : 0.01)),
});

const joints = test({
  id: "joints",
  kind: "look",
  link: "board",
  title: "Look at the joints, and press the board gently",
  how: [
    "Power off: magnifier, light from the side; dull rings, cracks, green spots.",
    "Power on: press the board with a dry wooden stick here and there; does it come and go?",
  ],
  tools: ["magnifier", "wooden stick"],
  outcomes: [good("nothing found, no change"), outcome("reacts", "a bad joint is seen, or it comes and goes")],
  minutes: 8,
  inside: true,
  risk: "some",
  hazards: ["static"],
  misleads: 0.05,
  ...bad((fault) => (fault.is("joint") ? 0.75 : fault.is("socket", "ribbon", "supply-plug") ? 0.4 : 0.02)),
});

/** Chips whose fault draws current. */
function heat(chips: readonly Cause[]): Test {
  return test({
    ...PROBE,
    id: "heat",
    kind: "look",
    title: "Feel for a chip that is far hotter than its like",
    how: [
      "Power on for two minutes, then off; back of a finger, or a thermometer that needs no touch.",
      "A shorted chip burns: come near slowly.",
    ],
    outcomes: [
      good("none stands out"),
      ...chips.map(({ id, part, board }) => outcome(id, `${part}${board ? ` on ${board}` : ""}`)),
    ],
    minutes: 3,
    misleads: 0.05,
    chances: (fault) => {
      const hot = fault.is("chip") && fault.manner === "dead" ? 0.25 : fault.is("chip") ? 0.06 : 0;
      return [1 - hot, ...chips.map(({ id }) => (id === fault.cause.id ? hot : 0))];
    },
  });
}

function warmAndCool({ computer, causes }: TestKit): Test {
  const boards = computer!.boards.map(({ name }) => name);
  const places = ["the supply", ...boards];
  const where = (cause: Cause): string | undefined =>
    cause.board ?? (["filter", "regulator", "rectifier", "overload"].includes(cause.kind) ? "the supply" : undefined);
  return test({
    ...PROBE,
    id: "warm-and-cool",
    title: "Warm and cool it, part by part",
    how: [
      "Hair dryer and cold spray, never on glass: warm until it fails, then cool one part after another until it works.",
      "Keep the spray away from the mains side and from your skin.",
    ],
    tools: ["hair dryer", "cold spray"],
    outcomes: [good("nothing reacts"), ...places.map((name) => outcome(name, `${name} reacts`))],
    minutes: 12,
    hazards: causes.some((each) => each.hazards.includes("mains")) ? ["mains", "static"] : ["static"],
    misleads: 0.05,
    chances: ({ cause, manner }) => {
      const share = manner === "warm" || manner === "cold" ? 0.8 : manner === "sometimes" ? 0.15 : 0.01;
      const at = places.indexOf(where(cause) ?? "");
      return [at < 0 ? 1 : 1 - share, ...places.map((_, index) => (index === at ? share : 0))];
    },
  });
}

const without = (name: string): Test =>
  test({
    id: `without/${name}`,
    kind: "exchange",
    link: "board",
    title: `Start without ${name}`,
    how: [
      `Power off, strap on; take ${name} out and put back what it replaced, links as they were (\`rouse boards JOB\`).`,
      "Then start: does the monitor come further than before?",
    ],
    tools: ["photographs of before", "grounded mat and wrist strap"],
    minutes: 12,
    inside: true,
    risk: "low",
    hazards: ["static"],
    ...cured((fault) => {
      if (fault.cause.board === name && !["banks"].includes(fault.node)) return 0.93;
      return fault.is("overload") ? 0.7 : fault.is("timing") ? 0.4 : 0.02;
    }),
  });

const slower = test({
  id: "slower-clock",
  kind: "exchange",
  link: "board",
  title: "Run it at half the clock",
  how: ["Power off; a crystal of half the frequency, or the slow setting where there is one. Then start again."],
  tools: ["crystal"],
  minutes: 15,
  inside: true,
  risk: "low",
  hazards: ["static"],
  ...cured((fault) => (fault.is("timing") ? 0.92 : fault.is("chip") && fault.manner === "warm" ? 0.3 : 0.03)),
});
