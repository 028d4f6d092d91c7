import type { BenchPort, BenchTerminal } from "../../bench/index.ts";
import { flowOutcome, portRate, readFrame } from "../../line/index.ts";
import { formatNumber, formatValue } from "../../quantity/index.ts";
import { benchFigure, type Check, figureOf, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

export const portOverrun: Check = {
  id: "port-overrun",
  link: "port",
  title: "Characters lost while an end is away",
  about:
    "While a computer moves a disk's bytes or a terminal scrolls, nobody takes received characters away. They pile up in the part, or in an interrupt routine's buffer, and then get lost, unless the listener can stop the talker. Judged where the bench gives `away` for an end.",
  formula: "characters that arrive = 1 + ⌊time away ÷ time of a character⌋ ≤ characters kept",
  sources: [RULES.arithmetic, RULES.common],
  run({ bench }) {
    return bench.cables.flatMap(({ from: port, to: terminal }): Outcome[] => [
      ...judge(port, terminal, port, terminal),
      ...judge(terminal, port, port, terminal),
    ]);
  },
};

function judge(
  listener: BenchPort | BenchTerminal,
  talker: BenchPort | BenchTerminal,
  port: BenchPort,
  terminal: BenchTerminal,
): Outcome[] {
  if (!listener.away) return [];
  const about = listener.name;
  const made = portRate(port);
  const rate = made.known ? made.rate : terminal.rate?.value;
  const format = port.format ?? terminal.format;
  const uart = listener === port ? port.chip?.uart : undefined;
  const buffer = listener.buffer ?? uart?.receiveBuffer;
  const missing = [
    ...(rate === undefined ? [`${terminal.path}.rate`] : []),
    ...(format === undefined ? [`${port.path}.format`] : []),
    ...(buffer === undefined ? [`${listener.path}.buffer`] : []),
  ];
  if (rate === undefined || format === undefined || buffer === undefined)
    return [unknown(`Whether ${about} loses characters cannot be said.`, missing, { about, at: listener.path })];
  const frame = readFrame(format);
  const agreed = listener.handshake === talker.handshake ? (listener.handshake ?? "none") : "none";
  const found = flowOutcome({ rate, frame, away: listener.away.high, buffer, flow: agreed });
  const shared = {
    about,
    at: `${listener.path}.away`,
    figures: [
      worked("rate", formatValue(rate, "rate")),
      worked("time of a character", formatValue(frame.bits / rate, "time", 3)),
      benchFigure("away at most", listener.away, `${listener.path}.away`),
      listener.buffer === undefined && uart
        ? figureOf("characters kept by the part", { value: uart.receiveBuffer, source: uart.source })
        : benchFigure("characters kept", buffer, `${listener.path}.buffer`),
      benchFigure(`flow control of ${listener.name}`, listener.handshake ?? "not given", `${listener.path}.handshake`),
      benchFigure(`flow control of ${talker.name}`, talker.handshake ?? "not given", `${talker.path}.handshake`),
      worked("characters that arrive meanwhile", found.arriving),
      ...(agreed === "none" ? [] : [worked("characters that still come after the stop", found.afterStop)]),
    ],
    result: `${formatNumber(found.arriving)} arrive, ${formatNumber(buffer)} are kept`,
    margin: formatValue(found.bearable - listener.away.high, "time", 3),
  };
  const most = formatValue(listener.away.high, "time", 3);
  if (found.lost === 0)
    return [
      {
        ...shared,
        verdict: "runs",
        sentence:
          found.arriving <= buffer
            ? `${listener.name} keeps the ${found.arriving === 1 ? "one character" : `${formatNumber(found.arriving)} characters`} that may arrive in the ${most} it is away.`
            : `${listener.name} stops ${talker.name} in time: ${found.afterStop} characters may still come, and it keeps ${formatNumber(buffer)}.`,
      },
    ];
  const pause = `${formatValue(found.perCharacter, "time", 3)} after each character, or ${formatValue(found.perLine, "time", 3)} after each line if it is away only then`;
  return [
    {
      ...shared,
      // A person types slower than any line; a computer fills the line.
      verdict: listener === port ? "tight" : "stops",
      sentence: `${listener.name} loses ${formatNumber(found.lost)} of the characters that ${talker.name} sends at full speed while it is away for ${most}${listener === port ? "; typing by hand is slow enough" : ""}.`,
      remedy: `${agreed === "none" ? "Use flow control at both ends, a lower rate" : "Give it a larger buffer, a lower rate"}, or a pause of ${pause}.`,
    },
  ];
}
