import type { Bench, BenchCable } from "../bench/index.ts";
import { type Contact, cableNets, continuity } from "../line/index.ts";
import { formatValue } from "../quantity/index.ts";
import type { Draft } from "./step.ts";

const contact = (cable: BenchCable, { end, pin }: Contact): string => `${cable[end].name} ${pin}`;

/** Pairs that must beep and must not, for each cable. */
export const cableSteps = (bench: Bench): Draft[] =>
  bench.cables.map((cable) => {
    const found = cableNets(cable);
    const list = found.known ? continuity(found.nets) : undefined;
    const beep = list?.beep.map(([one, other]) => `${contact(cable, one)} – ${contact(cable, other)}`) ?? [];
    const silent =
      list?.shortly.map(
        ({ on, against }) => `${contact(cable, on)} against ${against.map((each) => contact(cable, each)).join(", ")}`,
      ) ?? [];
    return {
      id: `cable/${cable.name}`,
      title: `Ring ${cable.name} through`,
      why: "A cable that looks right and joins other wires gives silence or garbage, and may set driver against driver.",
      how: list
        ? [
            "Plug it in nowhere. Continuity tester on one contact of each plug.",
            `These must beep: ${beep.length > 0 ? beep.join("; ") : "none"}.`,
            `These must stay silent: ${silent.length > 0 ? silent.join("; ") : "nothing to probe"}.`,
          ]
        : ["What must beep cannot be said yet: the bench lacks values."],
      expected: list
        ? `${beep.length} pairs beep, and nothing else does.`
        : "Not known: the bench does not say what the cable joins.",
      tools: ["continuity tester", "contact numbers under a magnifier"],
      time: 5,
      say: "Open the plug; compare with `rouse cable JOB`, which draws it and designs the one to solder.",
      checks: ["cable-nets", "cable-levels", "cable-capacitance", "cable-edge"],
      missing: found.known ? [] : found.missing,
      rests: found.known ? [cable.name, found.wiring] : [cable.name, cable.kind],
    };
  });

/** A line test for each cable: port at one end, terminal at the other. */
export const lineSteps = (bench: Bench): Draft[] =>
  bench.cables.map((cable) => {
    const { from, to } = cable;
    const rate = to.rate ? formatValue(to.rate.value, "rate") : undefined;
    return {
      id: `line/${cable.name}`,
      title: `Test the line from ${from.name} to ${to.name}`,
      why: "Wrong rate or frame shows as garbage only at the login; here it costs a minute.",
      how: [
        `Power off, plug ${cable.name} in at both ends, screw it down; power on, terminal first.`,
        `Set the terminal to ${rate ?? "the port's rate (`rouse rates JOB` lists it)"}, ${to.format ?? from.format ?? "the port's frame"}, handshake ${to.handshake ?? from.handshake ?? "none"}.`,
        `From a computer with an adapter in the terminal's place, \`rouse listen PORT\` tells rate and frame; with a loopback plug, \`rouse line-test PORT\` counts errors.`,
        "Type every letter and digit at the terminal in local mode, then to the monitor.",
      ],
      expected: `What is typed comes back as typed${rate ? ` at ${rate}` : ""}; no error in 10,000 characters.`,
      tools: ["loopback plug", "computer with a serial adapter"],
      time: 8,
      say: "Garbage: rate or frame. Silence: cable, or a handshake that waits. Every other sign wrong: parity.",
      checks: ["port-rate", "port-framing", "port-overrun", "cable-nets", "terminal-rate"],
      missing: to.rate ? [] : [`${to.path}.rate`],
      rests: [from, to, cable],
    };
  });
