import type { Fault, Manner } from "./types.ts";

/**
 * What needs what, from the mains to the login: a function fails with any that it needs. Rails are named `rail:+5 V`.
 * `supply` stands for the rail of the logic, `levels` for those of the line driver.
 */
const NEEDS: Readonly<Record<string, readonly string[]>> = {
  mains: [],
  raw: ["mains"],
  supply: ["raw"],
  levels: ["raw"],
  clock: ["supply"],
  reset: ["supply"],
  address: ["supply"],
  data: ["supply"],
  select: ["supply", "address"],
  rom: ["supply", "address", "data", "select"],
  // The monitor runs.
  cpu: ["supply", "clock", "reset", "address", "data", "rom"],
  // Rows, columns and refresh of dynamic memory.
  strobes: ["supply", "clock", "address"],
  ram: ["supply", "strobes", "address", "data"],
  banks: ["ram"],
  interrupt: ["supply"],
  portClock: ["supply"],
  uart: ["cpu", "portClock"],
  // The monitor keeps its variables in RAM; a test program need not.
  prints: ["uart", "ram"],
  driver: ["uart", "levels"],
  // Signals that hold a side back.
  flow: [],
  wireOut: ["driver"],
  terminal: [],
  terminalIn: ["terminal"],
  settings: [],
  speaks: ["wireOut", "terminal", "terminalIn", "settings"],
  shown: ["speaks", "prints"],
  keyboard: ["terminal"],
  wireBack: ["keyboard"],
  receiver: ["levels"],
  typed: ["wireBack", "receiver", "settings"],
  controller: ["cpu", "ram"],
  bus: ["controller"],
  drivePower: [],
  spin: ["drivePower"],
  arm: ["drivePower"],
  driveLogic: ["drivePower"],
  head: ["spin", "arm", "driveLogic"],
  medium: [],
  written: [],
  read: ["bus", "head", "medium", "written"],
  image: [],
  needs: [],
  boot: ["read", "image", "needs"],
  system: ["boot", "banks", "interrupt"],
  login: ["system", "typed"],
  other: [],
};

/** Everything that fails with each function. */
export function closures(rails: { supply: readonly string[]; levels: readonly string[] }): Map<string, Set<string>> {
  const needs = new Map<string, readonly string[]>(Object.entries(NEEDS));
  const names = (list: readonly string[]): string[] => list.map((each) => `rail:${each}`);
  for (const name of new Set([...rails.supply, ...rails.levels])) needs.set(`rail:${name}`, ["raw"]);
  needs.set("supply", ["raw", ...names(rails.supply)]);
  needs.set("levels", ["raw", ...names(rails.levels)]);
  const failing = new Map<string, Set<string>>();
  for (const from of needs.keys()) {
    const reached = new Set([from]);
    // `NEEDS` is written in order, but rails are not: round until nothing is added.
    for (let before = 0; before !== reached.size; ) {
      before = reached.size;
      for (const [node, wanted] of needs) if (wanted.some((each) => reached.has(each))) reached.add(node);
    }
    failing.set(from, reached);
  }
  return failing;
}

/** How surely something that fails in this manner fails while one looks (judgement). */
const FORCE: Readonly<Record<Manner, number>> = { dead: 1, wrong: 0.85, warm: 0.55, cold: 0.65, sometimes: 0.5 };

export const forceOf = ({ force, manner }: Fault): number => force ?? FORCE[manner];
