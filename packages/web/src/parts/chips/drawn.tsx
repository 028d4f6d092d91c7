import type { BoardBox, PartBox } from "./layout.ts";
import "./chips.css";

/** Text cut to a width, at about 6.4 px a character. */
export function cut(text: string, width: number): string {
  const most = Math.floor(width / 6.4);
  return text.length <= most ? text : most < 3 ? "" : `${text.slice(0, most - 1)}…`;
}

/** A board with its name. `isLit`: something on it answers, or is suspected. */
export function BoardDrawn({ board, x, width, isLit }: { board: BoardBox; x: number; width: number; isLit: boolean }) {
  return (
    <g className={`m-board${isLit ? " is-lit" : ""}`}>
      <rect className="m-board-box" x={x} y={board.y + 0.5} width={width - 1} height={board.height} rx={6} />
      <text className="m-board-name" x={x + 10} y={board.y + 16}>
        {cut(board.board ?? "board not named", width - 14)}
      </text>
    </g>
  );
}

/** Where a byte of a part stands on its bar. */
export const byteY = ({ bar, part }: PartBox, byte: number): number => bar.y + (bar.height * byte) / part.bytes;

/** Stretches of bytes in order, those that touch or overlap as one: mirrors show the same bytes again and again. */
export function joined(shown: readonly { first: number; last: number }[]): { first: number; last: number }[] {
  const out: { first: number; last: number }[] = [];
  for (const { first, last } of [...shown].sort((a, b) => a.first - b.first)) {
    const before = out.at(-1);
    if (before && first <= before.last + 1) before.last = Math.max(before.last, last);
    else out.push({ first, last });
  }
  return out;
}

/** A part: the bar of its bytes with its banks, and its chips; lit where they answer, marked with a number where they are ranked. */
export function PartDrawn({
  box,
  at,
  lit,
  litBanks,
  isLit,
  shown,
  ranks,
}: {
  box: PartBox;
  at: { parts: number; partsWidth: number; bar: number };
  /** Numbers of chips. */
  lit: ReadonlySet<number>;
  litBanks: ReadonlySet<number | undefined>;
  isLit: boolean;
  /** Stretches of its bytes that are filled. */
  shown: readonly { first: number; last: number }[];
  /** By the chip's number. */
  ranks?: ReadonlyMap<number, number>;
}) {
  const { part, bar, chips, y } = box;
  const x = at.parts + 10;
  const chipsX = x + at.bar + 10;
  const banks = part.banks && part.bank && part.banks <= 64 ? part.banks : 0;
  const bankTall = banks > 0 ? bar.height / banks : 0;
  const count = part.columns && part.rows ? `${part.columns * part.rows} × ` : "";
  const about = part.chips ? `${part.name}: ${count}${part.chips}` : part.name;
  return (
    <g className={`m-part is-${part.kind}${isLit ? " is-lit" : ""}`}>
      <text className="m-part-name" x={x} y={y + 13}>
        {cut(about, at.partsWidth - 16)}
      </text>
      <rect className="m-bar" x={x} y={bar.y} width={at.bar} height={bar.height} />
      {joined(shown).map(({ first, last }) => (
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
          {ranks?.has(chip.index) && (
            <g className="m-rank">
              <circle cx={chipsX + chip.x + chip.width - 3} cy={chip.y + 2} r={8} />
              <text x={chipsX + chip.x + chip.width - 3} y={chip.y + 6} textAnchor="middle">
                {ranks.get(chip.index)}
              </text>
            </g>
          )}
        </g>
      ))}
    </g>
  );
}
