import type { DrawingProps } from "../stations.ts";
import { Case, fitted, Label, NotThere } from "./paper.tsx";

const CHIP = { width: 11, height: 15 };
/** Boards and chips drawn; what is beyond is counted. */
const MOST_BOARDS = 3;
const MOST_CHIPS = 44;

/** The boards in the case, every chip in its place, each kind with a look of its own. */
export function BoardDrawing({ drawing: { computer } }: DrawingProps) {
  if (!computer) return <NotThere width={186} what="computer" />;
  const boards = computer.boards.slice(0, MOST_BOARDS);
  const chipsOf = boards.map(({ chips }) =>
    chips.flatMap((chip) => Array.from({ length: Math.min(chip.count, MOST_CHIPS) }, () => chip)).slice(0, MOST_CHIPS),
  );
  const rows = chipsOf.map((chips) => Math.max(1, Math.ceil(chips.length / 11)));
  const heights = rows.map((count) => count * (CHIP.height + 4) + 20);
  const gap = 8;
  const total = heights.reduce((sum, each) => sum + each + gap, -gap);
  const scale = Math.min(1, 166 / Math.max(1, total));
  let y = 0;
  return (
    <g>
      <Case width={186} part="left" />
      <Label x={18} y={47} size={11} strong>
        {fitted(computer.name, 26)}
      </Label>
      <g transform={`translate(18 56) scale(1 ${scale})`}>
        {boards.map((board, index) => {
          const top = y;
          y += heights[index]! + gap;
          return (
            <g key={board.name} transform={`translate(0 ${top})`}>
              <rect
                className={board.added ? "d-board is-added" : "d-board"}
                width="160"
                height={heights[index]!}
                rx="3"
              />
              <Label x={7} y={12.5} size={9}>
                {fitted(board.name, 24)}
                {board.added ? ", added" : ""}
              </Label>
              {chipsOf[index]!.map((chip, place) => (
                <rect
                  // biome-ignore lint/suspicious/noArrayIndexKey: chips of a board keep their order
                  key={place}
                  className={`d-chip is-${chip.kind.replace(/ /g, "-")}`}
                  x={7 + (place % 11) * 13.5}
                  y={18 + Math.floor(place / 11) * (CHIP.height + 4)}
                  width={CHIP.width}
                  height={CHIP.height}
                  rx="1"
                />
              ))}
            </g>
          );
        })}
      </g>
      {computer.boards.length === 0 && (
        <Label x={96} y={140} anchor="middle" size={10}>
          no board described
        </Label>
      )}
      <Label x={14} y={239} size={7.6} mono>
        {fitted(computer.rails.map(({ name, limit }) => (limit ? `${name} ${limit}` : name)).join(", "), 38)}
      </Label>
    </g>
  );
}
