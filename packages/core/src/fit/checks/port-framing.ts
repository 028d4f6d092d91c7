import { benchFigure, type Check, figureOf, type Outcome, unknown } from "../frame.ts";
import { RULES } from "../rules.ts";

export const portFraming: Check = {
  id: "port-framing",
  link: "port",
  title: "Framing",
  about:
    "Data bits and parity must be the same at both ends, else letters turn into others or parity errors. A listener that expects fewer stop bits than are sent is content.",
  sources: [RULES.uartSampling],
  run({ bench }) {
    return bench.cables.flatMap(({ from: port, to: terminal }): Outcome[] => {
      const about = port.name;
      const outcomes: Outcome[] = [];
      const frames = port.chip?.uart?.frames;
      if (port.format && frames && !frames.includes(port.format))
        outcomes.push({
          about: `${about} part`,
          verdict: "stops",
          sentence: `The ${port.uart} of ${port.name} cannot send ${port.format}; it knows ${frames.join(", ")}.`,
          figures: [benchFigure("frame", port.format, `${port.path}.format`)],
          remedy: `Choose one of ${frames.join(", ")} at both ends.`,
          at: `${port.path}.format`,
        });
      const missing = [port, terminal].filter((end) => !end.format).map((end) => `${end.path}.format`);
      if (!port.format || !terminal.format) {
        outcomes.push(unknown(`Whether both ends frame characters alike cannot be said.`, missing, { about }));
        return outcomes;
      }
      const figures = [
        benchFigure(port.name, port.format, `${port.path}.format`),
        benchFigure(terminal.name, terminal.format, `${terminal.path}.format`),
      ];
      const [ours, theirs] = [port.format, terminal.format];
      const sameBits = ours.slice(0, 2) === theirs.slice(0, 2);
      if (ours === theirs) outcomes.push({ about, verdict: "runs", figures, sentence: `Both ends use ${ours}.` });
      else if (sameBits)
        outcomes.push({
          about,
          verdict: "tight",
          figures,
          sentence: `The ends differ in stop bits only (${ours} and ${theirs}): it works while there is a pause between characters.`,
          remedy: `Set both ends to ${ours}.`,
          at: `${terminal.path}.format`,
        });
      else
        outcomes.push({
          about,
          verdict: "stops",
          figures,
          sentence: `${port.name} sends ${ours} and ${terminal.name} expects ${theirs}: letters would come out wrong or be refused.`,
          remedy: `Set ${terminal.name} to ${ours}, or ${port.name} to ${theirs}.`,
          at: `${terminal.path}.format`,
        });
      const known = terminal.class?.frames;
      if (known && !known.includes(terminal.format))
        outcomes.push({
          about: terminal.name,
          verdict: "stops",
          figures: [figureOf("frames of its class", { value: known.join(", "), source: terminal.class!.source })],
          sentence: `${terminal.name} cannot be set to ${terminal.format}.`,
          remedy: `Choose one of ${known.join(", ")} at both ends.`,
          at: `${terminal.path}.format`,
        });
      return outcomes;
    });
  },
};
