import { cut } from "../../parts/chips/drawn.tsx";
import { hexOf } from "../../parts/words.ts";
import type { Row } from "./layout.ts";

/** Below this width there is room for short words only, px. */
const NARROW = 620;

export interface Columns {
  placed: number;
  space: number;
  spaceWidth: number;
  parts: number;
  partsWidth: number;
  bar: number;
  isNarrow: boolean;
}

/** Where the columns of the drawing stand, px. */
export function columnsOf(width: number, hasPlaced: boolean): Columns {
  const isNarrow = width < NARROW;
  const placedWidth = hasPlaced ? (isNarrow ? 14 : 132) : 0;
  const space = 48 + placedWidth;
  const spaceWidth = isNarrow ? 88 : Math.min(210, width * 0.2);
  const parts = space + spaceWidth + (isNarrow ? 30 : Math.max(56, width * 0.14));
  return {
    placed: placedWidth,
    space,
    spaceWidth,
    parts,
    partsWidth: width - parts - 1,
    bar: isNarrow ? 22 : 44,
    isNarrow,
  };
}

/** The CPU's space, row by row. */
export function SpaceDrawn({
  rows,
  at,
  address,
  height,
}: {
  rows: readonly Row[];
  at: Columns;
  address: number;
  height: number;
}) {
  let lastLabel = Number.NEGATIVE_INFINITY;
  return (
    <g>
      {rows.map(({ from, to, y, height: tall, kind, title, detail, mirror }) => {
        const isLabelled = y - lastLabel >= 13 && y < height - 24;
        if (isLabelled) lastLabel = y;
        const words = detail && !at.isNarrow ? `${title}, ${detail}` : title;
        return (
          <g
            key={from}
            className={`m-row is-${kind}${mirror ? " is-mirror" : ""}${address >= from && address <= to ? " is-lit" : ""}`}
          >
            <rect
              className="m-row-box"
              x={at.space}
              y={y + 0.5}
              width={at.spaceWidth}
              height={Math.max(0.5, tall - 1)}
            />
            {tall >= 13 && (
              <text className="m-title" x={at.space + 7} y={y + Math.min(tall / 2 + 4, 18)}>
                {cut(words, at.spaceWidth - 12)}
              </text>
            )}
            {isLabelled && (
              <text className="m-address" x={at.space - 12} y={y + 9} textAnchor="end">
                {hexOf(from)}
              </text>
            )}
          </g>
        );
      })}
      <text className="m-address" x={at.space - 12} y={height} textAnchor="end">
        $FFFF
      </text>
    </g>
  );
}
