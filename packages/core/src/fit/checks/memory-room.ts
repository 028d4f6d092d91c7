import { address } from "../../bytes/index.ts";
import { memoryMapOf, roomFor } from "../../memory/index.ts";
import { formatValue } from "../../quantity/index.ts";
import { benchFigure, type Check, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

const bytes = (value: number): string => formatValue(value, "memory", 6);

export const memoryRoom: Check = {
  id: "memory-room",
  link: "memory",
  title: "Room for people",
  about:
    "Where the system's modules would lie in the memory that the CPU sees, what is left for users' programs, and how many logins that carries. With a translation board every login has blocks of its own; without one only what a single view shows can be used.",
  formula: "logins = 1 + ⌊(memory within reach − needed) ÷ memory of a login⌋",
  sources: [RULES.arithmetic],
  run({ bench, images }) {
    const map = memoryMapOf(bench);
    if (!map) return [];
    return images.flatMap((image): Outcome[] =>
      image.needs.flatMap((need): Outcome[] => {
        if (need.kind !== "memory" || need.from !== undefined) return [];
        const room = roomFor(map, need, bench);
        const wanted = bench.show?.logins;
        const about = image.name;
        const shared = {
          about,
          at: "computer.memory",
          figures: [
            worked("longest run", `${bytes(room.run.bytes)} from ${address(room.run.from)}`),
            ...room.placed.map((each) => worked(each.what, `${address(each.from)}–${address(each.to)}`)),
            worked("needed", bytes(need.bytes)),
            worked("memory fitted", bytes(room.total)),
            ...(room.behindWindows > 0 ? [worked("not seen in the same view", bytes(room.behindWindows))] : []),
            worked("left for users' programs", bytes(room.left)),
            ...(room.login ? [worked(`one login: ${room.login.how}`, bytes(room.login.bytes))] : []),
            ...(wanted === undefined ? [] : [benchFigure("logins wanted", wanted, "show.logins")]),
          ],
          result: room.logins === undefined ? `${bytes(room.left)} left` : `${room.logins} logins`,
        };
        const [homeless] = room.homeless;
        if (homeless)
          return [
            {
              ...shared,
              verdict: "stops",
              sentence: `${homeless.what} of ${image.name} takes ${bytes(homeless.bytes)} in one run, and no run that is left is as long.`,
              remedy: "Add memory, or a translation board that makes the banks behind the window one run.",
            },
          ];
        if (room.logins === undefined) {
          const sentence = `The system on ${image.name} leaves ${bytes(room.left)} for users' programs.`;
          return [
            wanted === undefined
              ? { ...shared, verdict: "runs", sentence }
              : unknown(`${sentence} What a login takes is not known.`, ["show.loginMemory"], shared),
          ];
        }
        const carries = `The system on ${image.name} leaves ${bytes(room.left)} for users' programs: ${room.logins} ${room.logins === 1 ? "login" : "logins"} at ${bytes(room.login!.bytes)} each, by memory alone`;
        if (wanted !== undefined && room.logins < wanted)
          return [
            {
              ...shared,
              verdict: "stops",
              sentence: `${carries}; ${wanted} are wanted.`,
              remedy: "Add memory behind the translation board, or show fewer terminals at once.",
            },
          ];
        return [{ ...shared, verdict: "runs", sentence: `${carries}.` }];
      }),
    );
  },
};
