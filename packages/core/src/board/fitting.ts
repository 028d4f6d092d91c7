import type { BenchBoard, BenchComputer } from "../bench/index.ts";

export interface BillRow {
  part: string;
  title?: string;
  count: number;
  places: readonly string[];
  /** How many of them are in sockets. */
  sockets: number;
}

export interface FittingStep {
  /** What to do, and why where it is not plain. */
  text: string;
  kind: "power" | "photograph" | "remove" | "socket" | "link" | "fit" | "measure" | "undo";
  /** The step that takes it back, in words. */
  undo?: string;
}

/** The bill of materials and the order of work for a board that is added to a machine. */
export interface Fitting {
  board: string;
  bill: readonly BillRow[];
  steps: readonly FittingStep[];
  /** How the machine becomes again what it was, in order. */
  undo: readonly string[];
  /** Keys of the bench that would make the list complete. */
  missing: readonly string[];
}

/** Parts of a board by part number. */
export function billOf(board: BenchBoard): BillRow[] {
  const rows = new Map<string, { part: string; title?: string; count: number; places: string[]; sockets: number }>();
  for (const { part, count, place, socketed, chip } of board.chips) {
    const name = chip?.part ?? part;
    const row = rows.get(name) ?? {
      part: name,
      count: 0,
      places: [],
      sockets: 0,
      ...(chip ? { title: chip.title } : {}),
    };
    row.count += count;
    if (place !== undefined) row.places.push(place);
    if (socketed) row.sockets += count;
    rows.set(name, row);
  }
  return [...rows.values()].sort((a, b) => (a.part < b.part ? -1 : 1));
}

const at = (place: string | undefined): string => (place === undefined ? "" : ` at ${place}`);

/** What fitting an added board takes, step by step, with the way back. Cautions come from the chain and go before. */
function fittingOf(computer: BenchComputer, board: BenchBoard): Fitting {
  const { socket, removes, links } = board;
  const missing: string[] = [];
  if (!socket) missing.push(`${board.path}.socket`);
  else if (!socket.pin1) missing.push(`${board.path}.socket.pin1`);
  for (const [index, each] of removes.entries()) if (!each.goes) missing.push(`${board.path}.removes.${index}.goes`);
  for (const [index, each] of links.entries()) if (!each.was) missing.push(`${board.path}.links.${index}.was`);

  const steps: FittingStep[] = [];
  const undo: string[] = [];
  const step = (kind: FittingStep["kind"], text: string, back?: string) => {
    steps.push({ kind, text, ...(back === undefined ? {} : { undo: back }) });
    if (back !== undefined) undo.unshift(back);
  };
  step(
    "power",
    computer.mains === "outside"
      ? "Switch off, pull the supply's plug, and wait until the rails measure below 1 V."
      : "Switch off, pull the mains plug and keep it in sight, and wait until the rails measure below 1 V.",
  );
  const touched = [...new Set([...removes.map((each) => each.place), socket?.place].flatMap((each) => each ?? []))];
  step(
    "photograph",
    `Photograph the whole board from straight above, and ${touched.length > 0 ? touched.join(", ") : "every place that will be touched"} close up, so that notches, pin 1 and numbers on chips can be read${links.length > 0 ? `; and the links ${links.map((each) => each.name).join(", ")} as they are` : ""}.`,
  );
  for (const { part, place, goes } of removes)
    step(
      "remove",
      `Take ${part}${at(place)} out, evenly from both ends, and note where its notch points. ${goes ? `It goes ${goes}.` : "Keep it in a labelled antistatic box."}`,
      `Put ${part} back${at(place)}, its notch as in the photograph.`,
    );
  for (const { name, set, was } of links)
    step(
      "link",
      `Set ${name} to ${set}${was ? `; it was ${was}` : "; write down how it was"}.`,
      was ? `Set ${name} back to ${was}.` : `Set ${name} back as it was written down.`,
    );
  if (socket)
    step(
      "socket",
      `Hold ${board.name} over ${socket.place}${socket.pins ? ` (${socket.pins} contacts)` : ""} without pressing: pin 1 ${socket.pin1 ? `is ${socket.pin1}` : "must be found on both, by notch, square pad or number"}. A board turned round gets its supply the wrong way.`,
    );
  step(
    "measure",
    `Before it is plugged in, measure with the power off that its supply pins are not shorted to ground${computer.rails.length > 0 ? ` (${computer.rails.map((each) => each.name).join(", ")})` : ""}.`,
  );
  step(
    "fit",
    `Press ${board.name} in evenly${socket ? ` at ${socket.place}` : ""}, and look along both rows that no pin is bent under.`,
    `Take ${board.name} out${socket ? ` of ${socket.place}` : ""}, evenly from both ends.`,
  );
  step(
    "measure",
    "Switch on with a meter on the rails: each must come up to its voltage within a second and stay; switch off at once where one does not, or where a chip grows hot.",
  );
  step("photograph", "Photograph it again as it is now, for the record.");
  return { board: board.name, bill: billOf(board), steps, undo, missing };
}

/** Fitting lists for every added board. */
export const fittingsOf = (computer: BenchComputer): Fitting[] =>
  computer.boards.filter((each) => each.added).map((board) => fittingOf(computer, board));
