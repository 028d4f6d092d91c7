import { benchFigure, type Check, imageFigure, type Outcome, unknown } from "../frame.ts";
import { RULES } from "../rules.ts";

export const systemCpu: Check = {
  id: "system-cpu",
  link: "system",
  title: "CPU that the system was written for",
  about: "Machine code runs on the CPU it was written for and on those that know all its instructions.",
  sources: [RULES.arithmetic],
  run({ bench, images }) {
    return images.flatMap((image): Outcome[] =>
      image.needs.flatMap((need): Outcome[] => {
        if (need.kind !== "cpu") return [];
        const about = image.name;
        const cpu = bench.computer?.cpu;
        const figures = need.evidence.map((each) =>
          imageFigure("found", each.text, `${each.file}, byte ${each.offset}`),
        );
        if (!cpu?.part)
          return [
            unknown(
              `The system on ${image.name} is ${need.instructionSet} code; the bench's CPU is not named.`,
              ["computer.cpu.part"],
              { about, figures },
            ),
          ];
        const set = cpu.chip?.cpu?.instructionSet;
        figures.push(benchFigure("CPU", cpu.part, "computer.cpu.part"));
        if (!set)
          return [
            unknown(`The catalogue does not know the CPU “${cpu.part}”.`, ["computer.cpu.part"], { about, figures }),
          ];
        const runs = set === need.instructionSet || need.runsOn.some((part) => part === set || part === cpu.part);
        return [
          runs
            ? {
                about,
                figures,
                verdict: "runs",
                sentence: `The system on ${image.name} is ${need.instructionSet} code, and the ${cpu.part} runs it.`,
              }
            : {
                about,
                figures,
                verdict: "stops",
                sentence: `The system on ${image.name} is ${need.instructionSet} code, which a ${cpu.part} does not run.`,
                remedy: `It needs one of these: ${need.runsOn.join(", ")}.`,
                at: "computer.cpu.part",
              },
        ];
      }),
    );
  },
};
