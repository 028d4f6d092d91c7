import { formatQuantity, formatValue } from "../../../quantity/index.ts";
import type { Test } from "../types.ts";
import { bad, cured, good, inTurn, outcome, type TestKit, test } from "./kit.ts";

/** A line at rest is at mark: −3 V to −15 V (V.28). */
const MARK = -3;
const SPACE = 3;
const CLOCK_SHARE = 0.01;

export function lineTests(kit: TestKit): Test[] {
  const { port, cable, terminal } = kit;
  return [
    ...(terminal ? [terminalLamp(kit), local(kit), otherTerminal(kit)] : []),
    ...(terminal && port ? [settings(kit)] : []),
    ...(port ? [listen(kit), ...(port.driver ? [idle(kit)] : []), activity(kit), portClock(kit), uartOut(kit)] : []),
    ...(cable ? [ring(kit), otherCable(kit), bridge(kit)] : []),
    ...(terminal && port ? [slower(kit)] : []),
  ];
}

const OUTSIDE = { kind: "measure", link: "cable" } as const;

const terminalLamp = ({ terminal }: TestKit): Test =>
  test({
    id: "terminal-lamp",
    kind: "look",
    link: "terminal",
    title: `Look for life in ${terminal!.name}`,
    how: [
      "Is its lamp lit, does it hum, bell or click; through the slots, does the heater glow? It stays closed.",
      "Turn brightness and contrast up.",
    ],
    outcomes: [
      outcome("shows", "it shows something"),
      outcome("alive", "lamp, sound or glow, and dark all the same", "terminal alive but dark"),
      outcome("dead", "no sign of life", "no sign of life in the terminal"),
    ],
    minutes: 1,
    misleads: 0.04,
    hazards: terminal!.display === "picture tube" ? ["picture-tube"] : [],
    chances: (fault) => {
      const dark = fault.stops("terminal");
      const dead = fault.is("terminal-supply") ? 0.85 : 0.12;
      return [1 - dark, dark * (1 - dead), dark * dead];
    },
  });

const local = ({ terminal }: TestKit): Test =>
  test({
    id: "local",
    kind: "look",
    link: "terminal",
    title: `Type at ${terminal!.name} in local mode`,
    how: [`Unplug the line from ${terminal!.name}, local mode (or contacts 2 and 3 of its plug joined), and type.`],
    outcomes: [
      good("every key is shown"),
      outcome("nothing", "nothing is shown", "terminal dead in local mode"),
      outcome("some", "some keys are not"),
    ],
    minutes: 2,
    chances: (fault) =>
      inTurn(
        fault,
        [
          ["terminal", [0, 1, 0]],
          ["keyboard", fault.manner === "sometimes" ? [0.1, 0.2, 0.7] : [0.2, 0.7, 0.1]],
        ],
        [1, 0, 0],
      ),
  });

const otherTerminal = ({ terminal, port }: TestKit): Test =>
  test({
    id: "other-terminal",
    kind: "exchange",
    link: "terminal",
    title: `Another terminal in the place of ${terminal!.name}`,
    how: [`Set it to ${port?.format ?? "the port's frame"} and the port's rate first, on the same cable.`],
    minutes: 6,
    ...cured((fault) =>
      fault.is("terminal-supply", "display", "terminal-input", "keyboard")
        ? 0.96
        : fault.is("rate", "frame")
          ? 0.8
          : 0.01,
    ),
  });

const settings = ({ port, terminal }: TestKit): Test =>
  test({
    id: "settings",
    kind: "look",
    link: "terminal",
    title: `Compare the settings of ${terminal!.name} with the bench`,
    how: [
      `Read its switches or its set-up: ${terminal!.rate ? formatQuantity(terminal!.rate) : "the rate that `rouse rates JOB` gives"}, ${terminal!.format ?? port!.format ?? "the port's frame"}.`,
      "Look at the links of the port too.",
    ],
    outcomes: [
      good("they agree"),
      outcome("rate", "the rate differs", "wrong rate"),
      outcome("frame", "bits or parity differ", "wrong parity"),
    ],
    minutes: 2,
    misleads: 0.03,
    chances: (fault) => (fault.is("rate") ? [0.12, 0.87, 0.01] : fault.is("frame") ? [0.12, 0.01, 0.87] : [1, 0, 0]),
  });

const listen = ({ port }: TestKit): Test =>
  test({
    ...OUTSIDE,
    id: "listen",
    kind: "run",
    link: "port",
    title: `Listen at ${port!.name} with a computer`,
    how: [
      "An adapter in the place of the terminal, on the same cable; its levels must be those of the port.",
      "`rouse listen PORT` tells rate and frame of what comes; start the machine.",
    ],
    tools: ["computer with a serial adapter"],
    outcomes: [
      good("text, at the bench's rate and frame"),
      outcome("other", "text, at another rate or frame"),
      outcome("garbage", "signs without sense"),
      outcome("nothing", "nothing"),
    ],
    minutes: 5,
    chances: (fault) =>
      fault.is("rate", "frame")
        ? [0.45, 0.53, 0.02, 0]
        : inTurn(
            fault,
            [
              ["portClock", fault.manner === "wrong" ? [0, 0.85, 0.15, 0] : [0, 0, 0, 1]],
              ["wireOut", fault.is("handshake") ? [0.85, 0, 0, 0.15] : [0, 0, 0.05, 0.95]],
              ["prints", fault.manner === "wrong" ? [0, 0, 0.2, 0.8] : [0, 0, 0.03, 0.97]],
            ],
            [1, 0, 0, 0],
          ),
  });

const idle = ({ port }: TestKit): Test =>
  test({
    ...OUTSIDE,
    id: "idle",
    link: "port",
    title: `Measure the resting level of ${port!.name}`,
    how: [
      `Cable off at ${port!.name}. Meter on direct voltage, black on signal ground, red on its transmitted data, nothing sent.`,
    ],
    tools: ["multimeter"],
    outcomes: [
      good("−3 V to −15 V: mark (V.28)"),
      outcome("zero", "between −3 V and +3 V", "no level on the line"),
      outcome("positive", "above +3 V: space"),
    ],
    minutes: 2,
    reading: {
      dimension: "voltage",
      names: ["idle", "idle level", "resting level", "line"],
      wanted: "−3 V to −15 V",
      outcomeOf: (value) => (value <= MARK ? "good" : value < SPACE ? "zero" : "positive"),
    },
    chances: (fault) => {
      const flat = Math.max(fault.stops("levels"), fault.node === "driver" ? fault.stops("driver") : 0);
      const odd = Math.max(0, fault.stops("uart") - flat) * 0.1;
      return [1 - flat - odd, flat * 0.88 + odd * 0.3, flat * 0.12 + odd * 0.7];
    },
  });

const activity = ({ port }: TestKit): Test =>
  test({
    ...OUTSIDE,
    id: "activity",
    link: "port",
    title: `See whether ${port!.name} sends at all`,
    how: [
      "A break-out box, a lamp or a scope on its transmitted data, cable off at the far end; then reset the machine.",
    ],
    tools: ["break-out box or oscilloscope"],
    outcomes: [good("flickers after the reset"), outcome("still", "never moves", "port sends nothing")],
    minutes: 3,
    ...bad((fault) =>
      fault.is("handshake") && fault.node === "wireOut" ? 0.85 : Math.max(fault.stops("prints"), fault.stops("driver")),
    ),
  });

/** Clock that the UART divides, and what it should be. */
function portClock({ port }: TestKit): Test {
  const wanted = port!.clock;
  const words = wanted ? formatQuantity(wanted) : "steady";
  return test({
    id: "port-clock",
    kind: "measure",
    link: "port",
    title: `Measure the clock of ${port!.name}`,
    how: [
      "A probe that slips joins two legs.",
      `Counter or scope at the crystal of ${port!.name} or its divider: ${words}.`,
    ],
    tools: ["oscilloscope or counter"],
    outcomes: [good(words), outcome("none", "no clock"), outcome("other", "another frequency")],
    minutes: 3,
    inside: true,
    risk: "some",
    hazards: ["static"],
    ...(wanted
      ? {
          reading: {
            dimension: "frequency" as const,
            names: ["port clock", `clock of ${port!.name}`],
            wanted: words,
            outcomeOf: (value: number) =>
              value < wanted.value * 0.01
                ? "none"
                : Math.abs(value - wanted.value) <= wanted.value * CLOCK_SHARE
                  ? "good"
                  : "other",
          },
        }
      : {}),
    chances: (fault) => {
      const stops = fault.stops("portClock");
      const other = fault.manner === "wrong" && fault.node === "portClock" ? 0.96 : 0.02;
      return [1 - stops, stops * (1 - other), stops * other];
    },
  });
}

const uartOut = ({ port }: TestKit): Test =>
  test({
    id: "uart-out",
    kind: "measure",
    link: "port",
    title: `Probe the transmit leg of ${port!.uart ?? "the serial port"}`,
    how: ["A probe that slips joins two legs.", "From reset on: does it move as the monitor prints its first line?"],
    tools: ["logic probe or oscilloscope"],
    outcomes: [good("moves"), outcome("still", "never moves")],
    minutes: 3,
    inside: true,
    risk: "some",
    hazards: ["static"],
    ...bad((fault) => Math.max(fault.stops("prints"), fault.is("handshake") && fault.node === "wireOut" ? 0.85 : 0)),
  });

function ring({ cable, causes }: TestKit): Test {
  const wires = causes.filter((each) => each.kind === "wire");
  return test({
    ...OUTSIDE,
    id: "ring",
    title: `Ring ${cable!.name} through`,
    how: [
      "Unplugged at both ends. Continuity tester on one contact of each plug, as `rouse plan JOB` lists them.",
      "Bend the cable near its plugs meanwhile.",
    ],
    tools: ["continuity tester"],
    outcomes: [
      good("joins what it should"),
      outcome("wrong", "joins other contacts", "cable wired wrong"),
      ...wires.map(({ id, part }) => outcome(id, `open: ${part}`)),
    ],
    minutes: 5,
    chances: (fault) => {
      const found = fault.manner === "sometimes" ? 0.65 : 0.97;
      if (fault.is("wired-wrong")) return [0.05, 0.95, ...wires.map(() => 0)];
      const plug = fault.is("plug") ? found * 0.4 : 0;
      const share = fault.is("wire") ? found : plug;
      return [
        1 - share,
        0,
        ...wires.map(({ id }) => (fault.is("wire") ? (id === fault.cause.id ? share : 0) : plug / wires.length)),
      ];
    },
  });
}

const otherCable = ({ cable }: TestKit): Test =>
  test({
    id: "other-cable",
    kind: "exchange",
    link: "cable",
    title: `Another cable in the place of ${cable!.name}`,
    how: [`One that \`rouse cable JOB\` would pass: ${cable!.kind}.`],
    minutes: 3,
    ...cured((fault) =>
      fault.is("wire", "wired-wrong") ? 0.96 : fault.is("plug") ? 0.75 : fault.is("handshake") ? 0.15 : 0.01,
    ),
  });

const bridge = ({ cable }: TestKit): Test =>
  test({
    id: "bridge",
    kind: "exchange",
    link: "cable",
    title: "Bridge the handshake at the port",
    how: [
      `Join ready to send with clear to send at the port's end of ${cable!.name}, and data terminal ready with data set ready.`,
    ],
    tools: ["break-out box"],
    minutes: 4,
    ...cured((fault) => (fault.is("handshake") ? (fault.node === "wireOut" ? 0.95 : 0.1) : 0.01)),
  });

const slower = ({ port }: TestKit): Test =>
  test({
    id: "slower-line",
    kind: "exchange",
    link: "port",
    title: "Run the line at a quarter of the rate",
    how: [
      `Both ends: \`rouse rates JOB\` says what to write to ${port!.name}. Are all characters there now? At ${formatValue(300, "rate")} a person can read along.`,
    ],
    minutes: 5,
    ...cured((fault) => (fault.is("overrun") ? 0.95 : fault.is("handshake") && fault.node === "flow" ? 0.6 : 0.01)),
  });
