import type { Bench } from "../bench/index.ts";
import type { MemoryNeed, Need } from "../system/index.ts";
import { analyse, type Range, runsOf } from "./analyse.ts";
import type { MemoryMap } from "./map.ts";
import type { MapState } from "./state.ts";

/** Where a part of the system would lie. */
export interface Placed extends Range {
  what: string;
  bytes: number;
}

/** How a system fits a map. Sizes in bytes. */
export interface Room {
  /** RAM in all, behind windows and translation too. */
  total: number;
  /** Longest run in one view of the map, and the state that shows it. */
  run: Range & { bytes: number };
  state: MapState;
  /** Parts in the order in which the system asks for them; those that fit nowhere. */
  placed: readonly Placed[];
  homeless: readonly { what: string; bytes: number }[];
  /** What is left for users' programs once the system and one login are there. */
  left: number;
  /** Memory of one login, and how it is known; nothing where nothing says it. */
  login?: { bytes: number; how: string };
  /** How many can be logged in at once. */
  logins?: number;
  /** Bytes that a system without translation does not count on: behind banks, or under something else in this view. */
  behindWindows: number;
}

const roundUp = (bytes: number, to: number): number => Math.ceil(bytes / to) * to;

/**
 * Lays a system's parts into the memory that a map shows, each into the first run that takes it, from low addresses up.
 * A system places its modules as it likes; this is one way, and where this one fails no other has more room in one run.
 * With translation every process has a map of its own, so that users' memory is counted over all physical blocks.
 */
export function roomFor(map: MemoryMap, need: MemoryNeed, bench: Bench): Room {
  const { longest } = analyse(map);
  const state = longest.most.state;
  const runs = runsOf(map.view(state)).map((each) => ({ ...each }));
  const placed: Placed[] = [];
  const homeless: { what: string; bytes: number }[] = [];
  if (need.from !== undefined && need.last !== undefined) {
    const { from, last } = need;
    const [part] = need.parts;
    const what = part?.what ?? "program";
    const bytes = last - from + 1;
    if (runs.some((each) => each.from <= from && last <= each.to)) placed.push({ what, bytes, from, to: last });
    else homeless.push({ what, bytes });
  } else
    for (const { what, bytes } of need.parts) {
      const run = runs.find((each) => each.to - each.from + 1 >= bytes);
      if (!run) homeless.push({ what, bytes });
      else {
        placed.push({ what, bytes, from: run.from, to: run.from + bytes - 1 });
        run.from += bytes;
      }
    }
  const ram = map.parts.filter((each) => each.kind === "ram" || each.kind === "window");
  const total = ram.reduce((sum, each) => sum + each.bytes, 0);
  const reachable = map.translation
    ? Math.min(total, map.translation.blocks * map.translation.block)
    : runsOf(map.view(state)).reduce((sum, each) => sum + each.to - each.from + 1, 0);
  const left = Math.max(0, reachable - need.bytes);
  const login = loginMemory(map, need, bench);
  return {
    total,
    run: { from: longest.most.from, to: longest.most.to, bytes: longest.most.bytes },
    state,
    placed,
    homeless,
    left,
    behindWindows: Math.max(0, total - reachable),
    ...(login ? { login, logins: homeless.length > 0 ? 0 : 1 + Math.floor(left / login.bytes) } : {}),
  };
}

/** The room for the system on each image whose needs are known. */
export const roomsOf = (
  map: MemoryMap,
  images: readonly { name: string; needs?: readonly Need[] }[],
  bench: Bench,
): { image: string; room: Room }[] =>
  images.flatMap(({ name, needs = [] }) =>
    needs.flatMap((need) => (need.kind === "memory" ? [{ image: name, room: roomFor(map, need, bench) }] : [])),
  );

/** What one login takes: as the bench says, or the storage of the largest program that an account asks for. */
function loginMemory(map: MemoryMap, need: MemoryNeed, bench: Bench): Room["login"] {
  const block = map.translation?.block ?? 1;
  const stated = bench.show?.loginMemory;
  if (stated) return { bytes: roundUp(Math.max(1, stated.value), block), how: "as the bench says" };
  const storage = need.parts.filter((each) => each.what.startsWith("storage of ")).at(-1);
  if (!storage) return undefined;
  const whole = block > 1 ? `, in blocks of ${block}` : "";
  return { bytes: roundUp(storage.bytes, block), how: `${storage.what}${whole}` };
}
