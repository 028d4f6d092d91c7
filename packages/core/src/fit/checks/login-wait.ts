import { InputError } from "../../errors/index.ts";
import { formatValue } from "../../quantity/index.ts";
import { timeJob } from "../../timing/index.ts";
import { benchFigure, type Check, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

export const loginWait: Check = {
  id: "login-wait",
  link: "audience",
  title: "How long until the login",
  about:
    "Motor, head, turns of the disk, bus, CPU and line are simulated in the order in which the system loads its files, up to the prompt. An audience that waits longer than it has patience for should be told a story meanwhile.",
  formula: "time = simulated boot + accounts and login program + banner ÷ characters a second ≤ patience",
  sources: [RULES.arithmetic],
  run({ bench, images }) {
    const patience = bench.show?.patience;
    const name = bench.show?.image?.name ?? bench.images[0]?.name;
    const image = images.find((each) => each.name === name);
    if (!patience || !image?.volume) return [];
    const what = bench.show?.target === "prompt" ? "boot" : "login";
    let answer: ReturnType<typeof timeJob>;
    try {
      answer = timeJob({ bench, image }, { what }, undefined, true);
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      return [unknown(`How long the audience waits cannot be said: ${error.message}`, [`images.${name}`])];
    }
    const time = (seconds: number) => formatValue(seconds, "time", 3);
    const shared = {
      at: "show.patience",
      figures: [
        benchFigure("patience", patience, "show.patience"),
        ...answer.parameters
          .filter((each) => each.rests && each.value !== undefined)
          .map((each) => ({
            label: each.label,
            value: each.text,
            from: each.source?.kind === "user" ? ("bench" as const) : ("catalogue" as const),
            path: each.key,
            ...(each.source ? { source: each.source } : {}),
          })),
        worked("simulated", `${time(answer.seconds)} (${time(answer.low)} to ${time(answer.high)})`),
      ],
    };
    const least = `The ${what} takes ${answer.known ? "" : "at least "}${time(answer.seconds)}`;
    const remedy =
      "See what `rouse time` finds slowest: a better interleave, fewer files in the start-up script, a faster line; or switch on before the audience comes.";
    if (answer.low > patience.value || (answer.known && answer.seconds > patience.value))
      return [
        {
          ...shared,
          verdict: "tight",
          sentence: `${least}; the audience's patience is ${time(patience.value)}.`,
          result: time(answer.seconds),
          margin: time(patience.value - answer.seconds),
          remedy,
        } satisfies Outcome,
      ];
    if (!answer.known)
      return [
        unknown(
          `${least}; ${answer.missing.map(({ label }) => label).join(", ")} would say how much more.`,
          answer.missing.map(({ key }) => key),
          shared,
        ),
      ];
    return [
      {
        ...shared,
        verdict: answer.high > patience.value ? "tight" : "runs",
        sentence: `${least}, within the audience's patience of ${time(patience.value)}${answer.high > patience.value ? " on average only" : ""}.`,
        result: time(answer.seconds),
        margin: time(patience.value - answer.high),
        ...(answer.high > patience.value ? { remedy } : {}),
      },
    ];
  },
};
