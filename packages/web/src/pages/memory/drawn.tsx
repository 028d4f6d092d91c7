import type { FullAnswer } from "@rouse/core/memory";
import { hexOf } from "../../parts/words.ts";
import type { PartBox, Row } from "./layout.ts";

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

/** Text cut to a width, at about 6.4 px a character. */
export function cut(text: string, width: number): string {
  const most = Math.floor(width / 6.4);
  return text.length <= most ? text : most < 3 ? "" : `${text.slice(0, most - 1)}…`;
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

/** A part: the bar of its bytes with its banks, and its chips; lit where they answer. */
export function PartDrawn({
  box,
  at,
  answers,
  bit,
  shown,
  byteY,
}: {
  box: PartBox;
  at: Columns;
  answers: readonly FullAnswer[];
  bit: number | undefined;
  shown: readonly { first: number; last: number }[];
  byteY: (box: PartBox, byte: number) => number;
}) {
  const { part, bar, chips, y } = box;
  const x = at.parts + 10;
  const chipsX = x + at.bar + 10;
  const lit = new Set(
    answers.flatMap((each) =>
      each.chips.filter(({ bits }) => bit === undefined || bits.includes(bit)).map(({ index }) => index),
    ),
  );
  const banks = part.banks && part.bank && part.banks <= 64 ? part.banks : 0;
  const bankTall = banks > 0 ? bar.height / banks : 0;
  const litBanks = new Set(answers.map((each) => each.bank));
  const count = part.columns && part.rows ? `${part.columns * part.rows} × ` : "";
  const about = part.chips ? `${part.name}: ${count}${part.chips}` : part.name;
  return (
    <g className={`m-part is-${part.kind}${answers.length > 0 ? " is-lit" : ""}`}>
      <text className="m-part-name" x={x} y={y + 13}>
        {cut(about, at.partsWidth - 16)}
      </text>
      <rect className="m-bar" x={x} y={bar.y} width={at.bar} height={bar.height} />
      {shown.map(({ first, last }) => (
        <rect
          key={first}
          className="m-shown"
          x={x}
          y={byteY(box, first)}
          width={at.bar}
          height={Math.max(1, byteY(box, last + 1) - byteY(box, first))}
        />
      ))}
      {Array.from({ length: banks }, (_, bank) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: a bank is its number
        <g key={bank} className={`m-bank${litBanks.has(bank) ? " is-lit" : ""}`}>
          <rect className="m-bank-box" x={x} y={bar.y + bank * bankTall} width={at.bar} height={bankTall} />
          {bankTall >= 11 && (
            <text
              className="m-bank-number"
              x={x + at.bar / 2}
              y={bar.y + (bank + 0.5) * bankTall + 4}
              textAnchor="middle"
            >
              {bank}
            </text>
          )}
        </g>
      ))}
      {chips.map((chip) => (
        <g key={chip.index} className={`m-chip${lit.has(chip.index) ? " is-lit" : ""}`}>
          <rect className="m-chip-box" x={chipsX + chip.x} y={chip.y} width={chip.width} height={chip.height} rx={3} />
          {chip.width >= 24 && (
            <text className="m-chip-name" x={chipsX + chip.x + chip.width / 2} y={chip.y + 16} textAnchor="middle">
              {cut(chip.place ?? String(chip.index), chip.width + 6)}
            </text>
          )}
        </g>
      ))}
    </g>
  );
}
