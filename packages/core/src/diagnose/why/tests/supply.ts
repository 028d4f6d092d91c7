import type { BenchRail } from "../../../bench/index.ts";
import { formatQuantity, formatValue } from "../../../quantity/index.ts";
import { liveInside } from "../kit.ts";
import type { FaultInPlace, Test } from "../types.ts";
import { bad, cured, good, outcome, type TestKit, test } from "./kit.ts";

/** Tolerance of a rail where the bench states none: usual for logic supplies (from memory). */
const USUAL_SHARE = 0.05;
/** Below this share of its voltage a rail counts as not there (judgement). */
const GONE_SHARE = 0.3;
/** Ripple that logic still bears, by hand-held meter on alternating voltage (common practice, no source). */
const RIPPLE = 0.05;
/** A rail that reads more than so many times its voltage was read in another unit (judgement). */
const BEYOND = 10;
/** A fuse and its contacts measure less (common practice, no source). */
const FUSE = 2;

export function supplyTests(kit: TestKit): Test[] {
  if (!kit.computer) return [];
  return [
    fuse(kit),
    raw(kit),
    ...kit.rails.flatMap((rail) => [railTest(kit, rail), ripple(kit, rail), offLoad(kit, rail)]),
    plugs(kit),
  ];
}

const inside = (kit: TestKit) => kit.computer?.mains === "inside";
const LIVE = "One hand behind your back; no wrist strap while mains is near; not alone.";

const fuse = (kit: TestKit): Test =>
  test({
    id: "fuse",
    kind: "measure",
    link: "board",
    title: "Measure the fuse and the switch",
    how: [
      inside(kit) ? "Pull the mains plug, and keep it in sight." : "Pull the supply's plug.",
      "Take the fuse out, ohmmeter across it; then across the switch, on and off.",
    ],
    tools: ["multimeter"],
    outcomes: [good(`below ${formatValue(FUSE, "resistance")}`), outcome("blown", "open, or many ohms", "fuse blown")],
    minutes: 3,
    risk: "low",
    hazards: inside(kit) ? ["mains"] : [],
    reading: {
      dimension: "resistance",
      names: ["fuse"],
      wanted: `below ${formatValue(FUSE, "resistance")}`,
      outcomeOf: (value) => (value < FUSE ? "good" : "blown"),
    },
    ...bad((fault) => {
      if (fault.is("mains")) return fault.manner === "dead" ? 0.93 : 0.3;
      return fault.is("short", "transformer", "regulator", "rectifier") ? 0.12 : 0.005;
    }),
  });

const raw = (kit: TestKit): Test =>
  test({
    id: "raw",
    kind: "measure",
    link: "board",
    title: "Measure the voltage before the regulators",
    how: [
      ...(inside(kit) ? [LIVE] : []),
      "Meter on direct voltage across the first filter capacitor of each rail: a few volts above the rail.",
    ],
    tools: ["multimeter"],
    outcomes: [good("there on each rail"), outcome("one", "missing on one rail"), outcome("none", "missing on all")],
    minutes: 4,
    inside: true,
    risk: "high",
    hazards: liveInside(kit),
    chances: (fault) => {
      const none = fault.stops("raw");
      const one = fault.is("rectifier") ? 0.85 : fault.is("filter") ? 0.25 : fault.is("short") ? 0.1 : 0;
      return [Math.max(0, 1 - none - one), one, none];
    },
  });

/** None, low, right, high: what a meter shows of a rail in each way that it fails (judgement). */
function shown(fault: FaultInPlace, node: string): readonly number[] {
  if (fault.node === "mains" || fault.node === "raw")
    return fault.manner === "dead" ? [1, 0, 0, 0] : [0.4, 0.1, 0.5, 0];
  if (fault.node !== node) return [0, 0, 1, 0];
  switch (`${fault.cause.kind} ${fault.manner}`) {
    case "filter wrong":
      return [0, 0.5, 0.5, 0];
    case "filter dead":
      return [0.3, 0.7, 0, 0];
    case "regulator dead":
      return [0.7, 0.3, 0, 0];
    case "regulator wrong":
      return [0, 0.3, 0.05, 0.65];
    case "short dead":
      return [0.7, 0.3, 0, 0];
    case "overload wrong":
      return [0.02, 0.83, 0.15, 0];
    default:
      return {
        dead: [0.8, 0.2, 0, 0],
        wrong: [0.02, 0.8, 0.18, 0],
        warm: [0.1, 0.5, 0.4, 0],
        cold: [0.15, 0.5, 0.35, 0],
        sometimes: [0.3, 0.2, 0.5, 0],
      }[fault.manner];
  }
}

interface Limits {
  low: number;
  high: number;
  text: string;
}

function limitsOf({ voltage }: BenchRail): Limits | undefined {
  if (!voltage) return undefined;
  const spread = Math.abs(voltage.value) * USUAL_SHARE;
  const stated = voltage.low !== voltage.high;
  return {
    low: stated ? voltage.low : voltage.value - spread,
    high: stated ? voltage.high : voltage.value + spread,
    text: stated ? formatQuantity(voltage) : `${formatQuantity(voltage)} ± 5 % (usual; the bench states none)`,
  };
}

/** Which outcome a voltage is, by size: −12 V that reads −10 V is low. A limit such as 5 V + 5 % is not exact in binary. */
function voltageOutcome(value: number, low: number, high: number): string {
  const sign = low < 0 ? -1 : 1;
  const [least, most] = sign < 0 ? [-high, -low] : [low, high];
  const size = value * sign;
  const slack = most * 1e-9;
  if (size < most * GONE_SHARE) return "none";
  return size < least - slack ? "low" : size > most + slack ? "high" : "good";
}

/** A rail that is there with the other sign is a meter with its leads swapped or a forgotten minus, not a dead rail. */
function railDoubt(name: string, value: number, { low, high }: Limits): string | undefined {
  const sign = low < 0 ? -1 : 1;
  const usual = Math.max(Math.abs(low), Math.abs(high));
  if (Math.abs(value) > usual * BEYOND) return `it is more than ${BEYOND} times ${name}: is the unit right?`;
  if (value * sign <= -usual * GONE_SHARE)
    return `it has the other sign than ${name}: write the sign, or swap the meter's leads and measure again.`;
  return undefined;
}

function railTest(kit: TestKit, rail: BenchRail): Test {
  const limits = limitsOf(rail);
  const { name } = rail;
  return test({
    id: `rail/${name}`,
    kind: "measure",
    link: "board",
    title: `Measure ${name} on the board`,
    how: [
      ...(inside(kit) ? [LIVE] : []),
      `Meter on direct voltage, black on ground, red on ${name} at a chip that it feeds. Read after a minute.`,
    ],
    tools: ["multimeter"],
    outcomes: [
      outcome("none", "nothing, or near it", `no ${name}`),
      outcome("low", "below its limit", `${name} low`),
      outcome("good", limits?.text ?? "as it should be", `${name} right`),
      outcome("high", "above its limit", `${name} high`),
    ],
    minutes: 2,
    inside: true,
    risk: "some",
    hazards: liveInside(kit),
    ...(limits
      ? {
          reading: {
            dimension: "voltage" as const,
            names: [name, `rail ${name}`, `${name} rail`],
            wanted: limits.text,
            outcomeOf: (value: number) => voltageOutcome(value, limits.low, limits.high),
            doubt: (value: number) => railDoubt(name, value, limits),
          },
        }
      : {}),
    chances: (fault) => shown(fault, `rail:${name}`),
  });
}

const ripple = (kit: TestKit, { name }: BenchRail): Test =>
  test({
    id: `ripple/${name}`,
    kind: "measure",
    link: "board",
    title: `Measure the ripple on ${name}`,
    how: [
      ...(inside(kit) ? [LIVE] : []),
      `Meter on alternating voltage (or a scope), black on ground, red on ${name}.`,
    ],
    tools: ["multimeter or oscilloscope"],
    outcomes: [good(`below ${formatValue(RIPPLE, "voltage")}`), outcome("large", "more", `ripple on ${name}`)],
    minutes: 2,
    inside: true,
    risk: "some",
    hazards: liveInside(kit),
    reading: {
      dimension: "voltage",
      names: [`ripple ${name}`, `ripple on ${name}`, `${name} ripple`],
      wanted: `below ${formatValue(RIPPLE, "voltage")}`,
      outcomeOf: (value) => (Math.abs(value) <= RIPPLE ? "good" : "large"),
    },
    ...bad((fault) => {
      if (fault.node !== `rail:${name}`) return 0.01;
      if (fault.is("filter")) return { wrong: 0.95, dead: 0.8, cold: 0.85, sometimes: 0.6, warm: 0.6 }[fault.manner];
      return fault.is("rectifier") ? (fault.manner === "wrong" ? 0.9 : 0.2) : fault.is("overload") ? 0.35 : 0.05;
    }),
  });

const offLoad = (kit: TestKit, rail: BenchRail): Test => {
  const { name } = rail;
  const limits = limitsOf(rail);
  return test({
    id: `off-load/${name}`,
    kind: "measure",
    link: "board",
    title: `Measure ${name} with no board connected`,
    how: [
      ...(inside(kit)
        ? ["Pull the plug, wait until nothing is charged, pull the supply's plug off the boards.", LIVE]
        : []),
      `A resistor of a tenth of the usual load across ${name} where its regulator needs one; then switch on and measure.`,
    ],
    tools: ["multimeter", "load resistor"],
    outcomes: [good(limits?.text ?? "as it should be"), outcome("bad", "too low, too high or nothing")],
    minutes: 6,
    inside: true,
    risk: "some",
    hazards: liveInside(kit),
    ...(limits
      ? {
          reading: {
            dimension: "voltage" as const,
            names: [`${name} off load`, `off load ${name}`],
            wanted: limits.text,
            outcomeOf: (value: number) => (voltageOutcome(value, limits.low, limits.high) === "good" ? "good" : "bad"),
            doubt: (value: number) => railDoubt(name, value, limits),
          },
        }
      : {}),
    ...bad((fault) => {
      if (fault.node === "mains" || fault.node === "raw") return fault.manner === "dead" ? 1 : 0.5;
      if (fault.node !== `rail:${name}`) return 0;
      if (fault.is("short", "overload")) return 0.04;
      if (fault.is("supply-plug")) return 0.06;
      if (fault.is("filter")) return fault.manner === "dead" ? 0.7 : 0.25;
      return fault.manner === "warm" ? 0.15 : 0.93;
    }),
  });
};

const plugs = (kit: TestKit): Test =>
  test({
    id: "supply-plugs",
    kind: "exchange",
    link: "board",
    title: "Pull and push the supply's plugs",
    how: [
      "Power off and unplugged; pull each plug of the supply, look for browned contacts, push it home. Then start again.",
    ],
    minutes: 4,
    inside: true,
    risk: "low",
    hazards: liveInside(kit),
    ...cured((fault) => (fault.is("supply-plug") ? 0.8 : 0.01)),
  });
