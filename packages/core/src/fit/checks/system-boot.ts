import { type Check, imageFigure, type Outcome, unknown } from "../frame.ts";
import { RULES } from "../rules.ts";

export const systemBoot: Check = {
  id: "system-boot",
  link: "system",
  title: "From boot to login",
  about:
    "What the boot file, its configuration, the start-up script and the accounts ask for by name must be on the volume, or in a ROM that is there. A name that nothing carries ends the start-up there.",
  sources: [RULES.moduleCrc],
  run({ bench, images }) {
    return images.flatMap((image): Outcome[] => {
      const system = image.system;
      if (!system || !image.volume) return [];
      const about = image.name;
      if (system.asks.length === 0) {
        if (system.systemBlocks === 0 && !system.boot.file)
          return [
            unknown(`No system that boots was found on ${image.name}.`, [], {
              about,
              ...(bench.show?.image?.name === image.name
                ? { remedy: "Name the image that boots under show.image." }
                : {}),
            }),
          ];
        return [
          {
            about,
            verdict: "runs",
            sentence: `${image.name} carries a system on its system tracks.`,
            figures: [imageFigure("blocks of the system", system.systemBlocks, image.name)],
          },
        ];
      }
      const missing = system.asks.filter((ask) => ask.state === "missing");
      const bad = system.asks.filter((ask) => ask.state === "damaged");
      const figures = system.asks.map((ask) =>
        imageFigure(
          `${ask.role} “${ask.name}”`,
          `${ask.state}${ask.found ? `, in ${ask.found.file}` : ""}`,
          ask.by[0] ? `${ask.by[0].file}, byte ${ask.by[0].offset}` : image.name,
        ),
      );
      const shared = {
        about,
        figures,
        result: `${system.asks.length - missing.length - bad.length} of ${system.asks.length} names found`,
      };
      const early = missing.filter((ask) => ask.when === "boot");
      if (bad.length > 0 || early.length > 0 || missing.some((ask) => ask.when === "login"))
        return [
          {
            ...shared,
            verdict: "stops",
            sentence: `On the way to the login the system asks for ${[...bad, ...missing].map((ask) => ask.name).join(", ")}, which ${bad.length > 0 ? "is damaged or missing" : "is not there"}.`,
            remedy: "Find a copy that has it, or name the ROM image that holds it under computer.memory.",
          },
        ];
      if (missing.length > 0)
        return [
          {
            ...shared,
            verdict: "tight",
            sentence: `The start-up script asks for ${missing.map((ask) => ask.name).join(", ")}, which is not on ${image.name}.`,
            remedy:
              "The start-up goes on without it on most systems; take the line out of a copy of the image if it does not.",
          },
        ];
      return [
        {
          ...shared,
          verdict: "runs",
          sentence: `All ${system.asks.length} names that ${image.name} asks for on the way to the login are there.`,
        },
      ];
    });
  },
};
