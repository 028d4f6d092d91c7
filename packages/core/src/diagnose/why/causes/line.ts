import { cableNets, dataCircuit, type Net } from "../../../line/index.ts";
import { type CauseDraft, type Kit, liveInside } from "../kit.ts";
import { RATES } from "../rates.ts";

const WIRE = 0.05;

/** Wires that this cable really has for data both ways and for ground; all of them where it is not known. */
function wiresOf({ cable }: Kit): readonly ("out" | "back" | "ground")[] {
  if (!cable) return [];
  const found = cableNets(cable);
  if (!found.known) return ["out", "back", "ground"];
  const joins = (net: Net, circuit: string): boolean =>
    net.pins.some((pin) => pin.end === "from" && pin.circuit === circuit) && net.pins.some((pin) => pin.end === "to");
  const has = (circuit: string): boolean => found.nets.some((net) => joins(net, circuit));
  const { from } = cable;
  return [
    ...(has(dataCircuit(from, "out")) ? (["out"] as const) : []),
    ...(has(dataCircuit(from, "in")) ? (["back"] as const) : []),
    ...(has("SG") ? (["ground"] as const) : []),
  ];
}

/** Port clock, settings, cable and terminal. */
export function lineCauses(kit: Kit): CauseDraft[] {
  const { port, cable, terminal } = kit;
  return [
    ...portCauses(kit),
    ...(cable ? cableCauses(kit) : []),
    ...(terminal && port ? settingCauses(kit) : []),
    ...terminalCauses(kit),
  ];
}

const portCauses = ({ port }: Kit): CauseDraft[] =>
  port
    ? [
        {
          id: `port-clock/${port.name}`,
          link: "port",
          part: `clock of port ${port.name}`,
          class: "part",
          weight: RATES.crystal,
          rate: `quartz crystal, ${RATES.crystal} failures in 10⁶ h`,
          faults: [
            ["portClock", "dead", 0.7],
            ["portClock", "wrong", 0.3],
          ],
          remedy: `Power off, strap on; change the crystal that clocks port ${port.name}, and look at the divider after it.`,
          hazards: ["static"],
          at: port.path,
          about: port.name,
        },
      ]
    : [];

function cableCauses(kit: Kit): CauseDraft[] {
  const cable = kit.cable!;
  const about = { link: "cable", about: cable.name, at: cable.path, class: "line" } as const;
  const words = { out: "from port to terminal", back: "from terminal to port", ground: "of signal ground" } as const;
  const nodes = { out: "wireOut", back: "wireBack", ground: "wireOut" } as const;
  return [
    ...wiresOf(kit).map(
      (wire): CauseDraft => ({
        ...about,
        id: `wire/${cable.name}/${wire}`,
        part: `wire ${words[wire]} in ${cable.name}`,
        weight: WIRE,
        faults: [
          [nodes[wire], "dead", 0.6],
          [nodes[wire], "sometimes", 0.4],
        ],
        remedy: `Ring ${cable.name} through while it is bent; solder the wire ${words[wire]} anew.`,
      }),
    ),
    {
      ...about,
      id: `wired-wrong/${cable.name}`,
      part: `${cable.name} joins the wrong contacts`,
      weight: 0.25,
      faults: [["wireOut", "dead", 1]],
      remedy: `\`rouse cable JOB\` says what ${cable.name} should join, and draws the one to solder.`,
      checks: ["cable-nets", "cable-levels"],
    },
    {
      ...about,
      id: `plug/${cable.name}`,
      part: `plugs of ${cable.name}`,
      class: "contact",
      weight: RATES.connector * 4,
      rate: `connector, ${RATES.connector} failures in 10⁶ h × 2 plugs × 2 for age (judgement)`,
      faults: [
        ["wireOut", "sometimes", 0.4],
        ["wireOut", "dead", 0.25],
        ["wireBack", "sometimes", 0.35],
      ],
      remedy: `Pull ${cable.name} at both ends, look for bent or sunk contacts, push home and screw down.`,
    },
  ];
}

function settingCauses({ cable, port, terminal }: Kit): CauseDraft[] {
  const name = terminal!.name;
  const about = { link: "terminal", class: "line", at: terminal!.path } as const;
  return [
    {
      ...about,
      id: `rate/${name}`,
      part: `bit rate of ${name} against ${port!.name}`,
      weight: 0.25,
      faults: [["settings", "wrong", 1, 0.97]],
      remedy: `Set ${name} to the rate that \`rouse rates JOB\` gives for ${port!.name}.`,
      checks: ["port-rate", "terminal-rate"],
    },
    {
      ...about,
      id: `frame/${name}`,
      part: `data bits and parity of ${name} against ${port!.name}`,
      weight: 0.12,
      faults: [["settings", "wrong", 1, 0.9]],
      remedy: `Set ${name} to ${port!.format ?? "the frame of the port"}.`,
      checks: ["port-framing"],
    },
    {
      ...about,
      id: `handshake/${name}`,
      link: "port",
      part: `handshake between ${port!.name} and ${name}`,
      weight: 0.12,
      faults: [
        ["wireOut", "dead", 0.55],
        ["flow", "wrong", 0.45],
      ],
      remedy: `Bridge ready to send with clear to send in the plug, or set both ends to the same handshake.`,
      checks: ["cable-nets", "port-overrun"],
      ...(cable ? { about: cable.name } : {}),
    },
    {
      ...about,
      id: `overrun/${name}`,
      link: "port",
      part: `characters come faster than they are taken away`,
      weight: 0.06,
      faults: [["flow", "wrong", 1]],
      remedy: `A lower rate, or a handshake that both ends know.`,
      checks: ["port-overrun"],
    },
  ];
}

function terminalCauses(kit: Kit): CauseDraft[] {
  const { terminal } = kit;
  if (!terminal) return [];
  const { name, path, display } = terminal;
  const about = { link: "terminal", class: "part", at: path, about: name } as const;
  const leave =
    display === "picture tube"
      ? "The inside of a display with a picture tube is for people trained for it; put another terminal in its place."
      : "Put another terminal in its place.";
  return [
    {
      ...about,
      id: `terminal-supply/${name}`,
      part: `supply of ${name}`,
      weight: RATES.electrolytic * 4,
      rate: `its electrolytic, ${RATES.electrolytic} failures in 10⁶ h × 4 (judgement)`,
      faults: [
        ["terminal", "dead", 0.8],
        ["terminal", "cold", 0.2],
      ],
      remedy: `Its lead and fuse first. ${leave}`,
      hazards: display === "picture tube" ? ["mains", "picture-tube"] : ["mains"],
    },
    {
      ...about,
      id: `display/${name}`,
      part: `display of ${name}`,
      weight: 0.1,
      faults: [
        ["terminal", "dead", 0.7],
        ["terminal", "warm", 0.15],
        ["terminal", "cold", 0.15],
      ],
      remedy: `Brightness and contrast first. ${leave}`,
      hazards: display === "picture tube" ? ["picture-tube"] : [],
    },
    {
      ...about,
      id: `terminal-input/${name}`,
      part: `line receiver of ${name}`,
      weight: RATES.linear * 2,
      rate: `line receiver, linear, ${RATES.linear} failures in 10⁶ h × 2 for age (judgement)`,
      faults: [["terminalIn", "dead", 1]],
      remedy: `Put another terminal in its place; the line receiver of ${name} is changed by someone who opens such things.`,
      hazards: liveInside(kit),
    },
    {
      ...about,
      id: `keyboard/${name}`,
      part: `keyboard or line driver of ${name}`,
      weight: 0.06,
      faults: [
        ["keyboard", "dead", 0.6],
        ["keyboard", "sometimes", 0.4],
      ],
      remedy: `Clean the contacts of the keyboard; if local mode shows every key, the line driver of ${name} is next.`,
    },
  ];
}
