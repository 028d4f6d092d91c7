import type { MemoryPicture } from "@rouse/core/memory";

type DrawnPart = MemoryPicture["parts"][number];

export interface PartBox {
  part: DrawnPart;
  y: number;
  height: number;
  /** The bar of its bytes. */
  bar: { y: number; height: number };
  chips: readonly { index: number; x: number; y: number; width: number; height: number; place?: string }[];
}

export interface BoardBox {
  /** Undefined where the bench names none. */
  board?: string;
  y: number;
  height: number;
  parts: readonly PartBox[];
}

const HEAD = 20;
const GAP = 12;
const BOARD_HEAD = 24;
const CHIP = 24;
/** Rows of chips that are drawn one by one. */
const MOST_CHIP_ROWS = 16;

/** Parts below each other in the order of the bench file, whatever the latches hold, with those of one board together. `width`: room for chips, px. */
export function layoutParts(picture: MemoryPicture, width: number): { boards: readonly BoardBox[]; height: number } {
  const byBoard = new Map<string | undefined, DrawnPart[]>();
  for (const part of picture.parts) {
    const list = byBoard.get(part.board);
    if (list) list.push(part);
    else byBoard.set(part.board, [part]);
  }
  const total = Math.max(1, ...picture.parts.map((each) => each.bytes));
  let y = 0;
  const boards = [...byBoard].map(([board, list]): BoardBox => {
    const top = y;
    y += BOARD_HEAD;
    const boxes = list.map((part): PartBox => {
      const chipRows = Math.min(part.rows ?? 0, MOST_CHIP_ROWS);
      const columns = part.columns ?? 0;
      const barHeight = Math.max(
        24,
        chipRows * (CHIP + 4) - 4,
        part.kind === "io" ? 0 : 24 + 110 * Math.sqrt(part.bytes / total),
      );
      const chipWidth = columns > 0 ? Math.min(columns === 1 ? 96 : 46, width / columns - 4) : 0;
      const box = {
        part,
        y,
        height: HEAD + barHeight,
        bar: { y: y + HEAD, height: barHeight },
        chips: Array.from({ length: chipRows * columns }, (_, index) => {
          const name = part.places?.[index];
          return {
            index,
            // Bit 7 stands at the left, as in a written byte.
            x: (columns - 1 - (index % columns)) * (chipWidth + 4),
            y: y + HEAD + Math.floor(index / columns) * (CHIP + 4),
            width: chipWidth,
            height: CHIP,
            ...(name === undefined ? {} : { place: name }),
          };
        }),
      };
      y += HEAD + barHeight + GAP;
      return box;
    });
    const height = y - top;
    y += GAP;
    return { ...(board === undefined ? {} : { board }), y: top, height, parts: boxes };
  });
  return { boards, height: Math.max(0, y - GAP) };
}
