import type { BenchBus, BenchDrive } from "../../bench/index.ts";
import { benchFigure, type Check, type Outcome, unknown } from "../frame.ts";
import { RULES } from "../rules.ts";

/** IEEE 488.1: primary addresses 0 to 30; 31 stands for unlisten and untalk. */
const HIGHEST = 30;

/** Drives on a cable of wires are told apart by their select lines. */
function selectLines(bus: BenchBus, all: readonly BenchDrive[]): Outcome {
  const drives = all.filter((each) => each.bus === bus.name);
  const missing = drives.filter((each) => each.unit === undefined).map((each) => `${each.path}.unit`);
  const shared = {
    about: bus.name,
    at: bus.path,
    figures: drives.flatMap((each) =>
      each.unit === undefined ? [] : [benchFigure(`select line of ${each.name}`, each.unit, `${each.path}.unit`)],
    ),
  };
  const twice = drives.filter(
    (each) => each.unit !== undefined && drives.some((other) => other !== each && other.unit === each.unit),
  );
  if (twice.length > 0)
    return {
      ...shared,
      verdict: "stops",
      sentence: `${twice.map((each) => each.name).join(" and ")} both answer to select line ${twice[0]!.unit} on ${bus.name}.`,
      remedy: "Set the select jumper of one of them to another line.",
    };
  if (missing.length > 0)
    return unknown(`Which select line each drive on ${bus.name} answers to is not given.`, missing, shared);
  return {
    ...shared,
    verdict: "runs",
    sentence:
      drives.length === 1
        ? `${drives[0]!.name} is alone on ${bus.name}.`
        : `${drives.length} drives on ${bus.name}, each with a select line of its own.`,
  };
}

export const busAddress: Check = {
  id: "bus-address",
  link: "bus",
  title: "Addresses on the bus",
  about:
    "Two devices with one address, or two drives with one select line, answer at the same time; on IEEE 488 an address above 30 is the bus's own.",
  formula: "every address (select line) different; 0 to 30 on IEEE 488",
  sources: [RULES.ieee488],
  run({ bench }) {
    return bench.buses.flatMap((bus): Outcome[] => {
      if (bus.devices.length === 0) return [];
      if (bus.kind !== "IEEE 488") return [selectLines(bus, bench.drives)];
      const about = bus.name;
      const missing = bus.devices.filter((each) => each.address === undefined);
      const figures = bus.devices.flatMap((each) =>
        each.address === undefined ? [] : [benchFigure(each.name, each.address, `${each.path}.address`)],
      );
      const shared = { about, figures, at: bus.path };
      const twice = bus.devices.filter(
        (each) =>
          each.address !== undefined && bus.devices.some((other) => other !== each && other.address === each.address),
      );
      if (twice.length > 0)
        return [
          {
            ...shared,
            verdict: "stops",
            sentence: `${twice.map((each) => each.name).join(" and ")} both answer to address ${twice[0]!.address} on ${bus.name}.`,
            remedy:
              "Change the address switch or link of one of them, and the address in the system's start-up where it names it.",
          },
        ];
      const outside = bus.devices.filter((each) => (each.address ?? 0) > HIGHEST);
      if (outside.length > 0)
        return [
          {
            ...shared,
            verdict: "stops",
            sentence: `${outside[0]!.name} has address ${outside[0]!.address}, where ${bus.name} knows 0 to ${HIGHEST}.`,
            remedy: `Set an address from 0 to ${HIGHEST}.`,
          },
        ];
      if (missing.length > 0)
        return [
          unknown(
            `The address of ${missing.map((each) => each.name).join(", ")} on ${bus.name} is not given.`,
            missing.map((each) => `${each.path}.address`),
            shared,
          ),
        ];
      return [
        {
          ...shared,
          verdict: "runs",
          sentence: `${bus.devices.length} devices on ${bus.name}, each with an address of its own.`,
        },
      ];
    });
  },
};
