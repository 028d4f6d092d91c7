import type { Cause, Test } from "../types.ts";
import { PROBE, PROBES, SLIP } from "./board.ts";
import { bad, cured, good, outcome, type TestKit, test } from "./kit.ts";

/** For each chip: looking whether it does what its inputs ask for, and putting a good one in its place. The dearest come last. */
export const partTests = ({ causes }: TestKit): Test[] => {
  const chips = causes.filter(({ kind }) => kind === "chip");
  return [...chips.filter(({ link }) => link === "board").map(follow), ...chips.map(exchange)];
};

const follow = ({ id, part, board, at }: Cause): Test => {
  const count = Number(/^one of (\d+) /.exec(part)?.[1] ?? 1);
  return test({
    ...PROBE,
    id: `follow/${id}`,
    title: `Compare inputs and outputs of ${part.replace(/^one of \d+ /, "the ")}`,
    how: [SLIP, `On ${board ?? "the board"}${at ? ` (${at})` : ""}: each output against what its inputs ask for.`],
    tools: PROBES,
    outcomes: [good("every output follows"), outcome("bad", "an output does not follow")],
    minutes: 2 + 1.5 * count,
    misleads: 0.03,
    ...bad((fault) =>
      fault.cause.id === id ? { dead: 0.93, wrong: 0.8, warm: 0.5, cold: 0.5, sometimes: 0.4 }[fault.manner] : 0.01,
    ),
  });
};

/** The surest test of a part, and the dearest. */
const exchange = ({ id, link, part, socketed, hazards }: Cause): Test =>
  test({
    id: `exchange/${id}`,
    kind: "exchange",
    link,
    title: `Put a good part in the place of ${part.replace(/^one of \d+ /, "each ")}`,
    how: [
      socketed
        ? "Power off, strap on; change it in its socket, pin 1 to pin 1. Keep the old one, labelled."
        : "Power off, strap on; for a steady hand: cut or unsolder, fit a socket, put the good part in. The board may suffer.",
    ],
    tools: ["good part", ...(socketed ? [] : ["soldering tools"]), "grounded mat and wrist strap"],
    minutes: socketed ? 5 : 25 * Number(/^one of (\d+) /.exec(part)?.[1] ?? 1),
    inside: true,
    risk: socketed ? "low" : "high",
    hazards,
    ...cured((fault) => {
      if (fault.cause.id === id) return 0.95;
      return socketed && fault.cause.id === id.replace(/^chip/, "socket") ? 0.5 : 0.01;
    }),
  });
