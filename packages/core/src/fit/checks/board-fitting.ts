import { fittingsOf } from "../../board/index.ts";
import { type Check, type Outcome, unknown, worked } from "../frame.ts";
import { RULES } from "../rules.ts";

export const boardFitting: Check = {
  id: "board-fitting",
  link: "board",
  title: "Fitting and taking out again",
  about:
    "A board that is added must go in the right way round, and the machine must become again what it was. For that the bench names the socket and where pin 1 is, the parts that come out and where they go, and how every link was set before. `rouse boards` prints the order of work.",
  sources: [RULES.common],
  run({ bench }) {
    const { computer } = bench;
    if (!computer) return [];
    return fittingsOf(computer).map(({ board, bill, steps, undo, missing }): Outcome => {
      const shared = {
        about: board,
        at: computer.boards.find((each) => each.name === board)!.path,
        figures: [
          worked(
            "chips on it",
            bill.reduce((sum, each) => sum + each.count, 0),
          ),
          worked("steps to fit it", steps.length),
          worked("steps to undo it", undo.length),
        ],
        caution:
          "Power off and plug pulled before a chip or board is touched; ground yourself and the board against static, never near live mains.",
      };
      return missing.length > 0
        ? unknown(`How ${board} goes in and comes out again is not wholly described.`, missing, shared)
        : {
            ...shared,
            verdict: "runs",
            sentence: `${board}: socket, pin 1, parts and links are named; ${undo.length} steps undo it.`,
          };
    });
  },
};
