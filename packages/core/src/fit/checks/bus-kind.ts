import { benchFigure, type Check, figureOf, type Outcome, unknown } from "../frame.ts";
import { RULES } from "../rules.ts";

export const busKind: Check = {
  id: "bus-kind",
  link: "bus",
  title: "The drive's connector",
  about: "A drive is made for one kind of bus; its plug and its signals fit no other.",
  sources: [RULES.arithmetic],
  run({ bench }) {
    return bench.drives.flatMap((drive): Outcome[] => {
      const about = drive.name;
      if (drive.bus === undefined)
        return [unknown(`Which bus ${drive.name} hangs on is not said.`, [`${drive.path}.bus`], { about })];
      const bus = bench.buses.find((each) => each.name === drive.bus);
      if (!bus) return [];
      if (!drive.busKind)
        return [unknown(`What connector ${drive.name} has is not known.`, [`${drive.path}.class`], { about })];
      const figures = [
        benchFigure("bus", bus.kind, `${bus.path}.kind`),
        figureOf("drive", drive.busKind, `${drive.path}.class`),
      ];
      return [
        bus.kind.toLowerCase() === drive.busKind.value.toLowerCase()
          ? { about, verdict: "runs", figures, sentence: `${drive.name} and ${bus.name} both use ${bus.kind}.` }
          : {
              about,
              verdict: "stops",
              figures,
              sentence: `${drive.name} is made for ${drive.busKind.value}, and ${bus.name} is ${bus.kind}.`,
              remedy: `Use a drive for ${bus.kind}, or put the right controller between them.`,
              at: `${drive.path}.bus`,
            },
      ];
    });
  },
};
