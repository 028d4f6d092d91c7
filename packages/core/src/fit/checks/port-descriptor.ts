import { address } from "../../bytes/index.ts";
import { mismatchLimit, portRate, readFrame } from "../../line/index.ts";
import { formatValue } from "../../quantity/index.ts";
import { benchFigure, type Check, imageFigure, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

export const portDescriptor: Check = {
  id: "port-descriptor",
  link: "port",
  title: "The system's idea of the port",
  about:
    "A device descriptor on the image names the port's address and, on many systems, its rate and framing. What it writes to the part must be what the bench's port and terminal use.",
  formula: "address equal; |rate of the descriptor ÷ rate made − 1| within the limit of the frame; frame equal",
  sources: [RULES.moduleCrc, RULES.uartSampling],
  run({ bench, images }) {
    return images.flatMap((image): Outcome[] => {
      const needs = image.needs.flatMap((need) => (need.kind === "port" ? [need] : []));
      if (needs.length === 0) return [];
      const port = bench.show?.port ?? (bench.ports.length === 1 ? bench.ports[0] : undefined);
      const wanted = needs.find((each) => each.console) ?? needs[0]!;
      const about = wanted.name;
      const evidence = wanted.evidence.map((each) =>
        imageFigure("descriptor", each.text, `${each.file}, byte ${each.offset}`),
      );
      if (!port)
        return [
          unknown(
            `The system talks through ${wanted.name} at ${address(wanted.address)}; no port of the bench is named for it.`,
            ["show.port"],
            { about, figures: evidence },
          ),
        ];
      if (port.at === undefined)
        return [
          unknown(
            `The system talks to a port at ${address(wanted.address)}; the address of ${port.name} is not given.`,
            [`${port.path}.at`],
            { about, figures: evidence },
          ),
        ];
      const made = portRate(port);
      const figures = [
        ...evidence,
        imageFigure("address asked for", address(wanted.address), image.name),
        benchFigure(`address of ${port.name}`, address(port.at), `${port.path}.at`),
        ...(wanted.rate === undefined
          ? []
          : [imageFigure("rate asked for", formatValue(wanted.rate, "rate"), image.name)]),
        ...(made.known ? [worked(`rate of ${port.name}`, formatValue(made.rate, "rate", 5))] : []),
        ...(wanted.frame ? [imageFigure("frame asked for", wanted.frame, image.name)] : []),
        ...(port.format ? [benchFigure(`frame of ${port.name}`, port.format, `${port.path}.format`)] : []),
      ];
      const shared = { about, figures, at: port.path };
      if (wanted.address !== port.at)
        return [
          {
            ...shared,
            verdict: "stops",
            sentence: `The system writes to a port at ${address(wanted.address)}, and ${port.name} is at ${address(port.at)}.`,
            remedy: "Change the port's address links, or the descriptor on a copy of the image.",
          },
        ];
      if (wanted.frame && port.format && wanted.frame !== port.format)
        return [
          {
            ...shared,
            verdict: wanted.frame.slice(0, 2) === port.format.slice(0, 2) ? "tight" : "stops",
            sentence: `The system sets ${port.name} to ${wanted.frame}, and the bench expects ${port.format}.`,
            remedy: `Set the terminal to ${wanted.frame}.`,
          },
        ];
      if (wanted.rate !== undefined && made.known) {
        const error = Math.abs(made.rate / wanted.rate - 1);
        if (error > mismatchLimit(readFrame(port.format ?? wanted.frame ?? "8N1")))
          return [
            {
              ...shared,
              verdict: "stops",
              sentence: `The system expects ${port.name} to run at ${formatValue(wanted.rate, "rate")}, and its clock and divider make ${formatValue(made.rate, "rate", 5)}.`,
              remedy: "Change the divider of the port, or the descriptor on a copy of the image.",
            },
          ];
      }
      return [
        {
          ...shared,
          verdict: "runs",
          sentence: `The system's descriptor ${wanted.name} and ${port.name} agree: ${address(port.at)}${wanted.rate ? `, ${formatValue(wanted.rate, "rate")}` : ""}${wanted.frame ? `, ${wanted.frame}` : ""}.`,
        },
      ];
    });
  },
};
