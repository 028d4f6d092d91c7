import type { Runs } from "@rouse/core/show";
import { type CSSProperties, memo } from "react";
import "./screen-rows.css";

/** Classes of a rendition (packages/core/src/terminal/rendition.ts): a bit an aspect, then four bits a colour. */
function classesOf(rendition: number): string {
  const classes: string[] = [];
  for (let bit = 0; bit < 9; bit++) if ((rendition >> bit) & 1) classes.push(`is-r${1 << bit}`);
  const [colour, ground] = [(rendition >> 12) & 15, (rendition >> 16) & 15];
  if (colour > 0) classes.push(`is-c${colour}`);
  if (ground > 0) classes.push(`is-g${ground}`);
  return classes.join(" ");
}

/** A row with the cursor in it is cut there. */
function cut(runs: Runs, column: number): Runs {
  const pieces: (readonly [string, number])[] = [];
  let from = 0;
  for (const [text, rendition] of runs) {
    const at = column - from;
    from += text.length;
    if (at < 0 || at >= text.length) pieces.push([text, rendition]);
    else {
      if (at > 0) pieces.push([text.slice(0, at), rendition]);
      pieces.push([text.slice(at, at + 1), rendition]);
      if (at + 1 < text.length) pieces.push([text.slice(at + 1), rendition]);
    }
  }
  if (column >= from) {
    if (column > from) pieces.push([" ".repeat(column - from), 0]);
    pieces.push([" ", 0]);
  }
  return pieces;
}

const Row = memo(function Row({ runs, cursor }: { runs: Runs; cursor: number }) {
  let from = 0;
  return (
    <div className="screen-row">
      {(cursor < 0 ? runs : cut(runs, cursor)).map(([text, rendition]) => {
        const at = from;
        from += text.length;
        const classes = `${classesOf(rendition)}${at === cursor ? " is-cursor" : ""}`.trim();
        return classes === "" ? (
          <span key={at}>{text}</span>
        ) : (
          <span key={at} className={classes}>
            {text}
          </span>
        );
      })}
    </div>
  );
}, isSameRow);

function isSameRow(a: { runs: Runs; cursor: number }, b: { runs: Runs; cursor: number }): boolean {
  return (
    a.cursor === b.cursor &&
    a.runs.length === b.runs.length &&
    a.runs.every(([text, rendition], index) => text === b.runs[index]![0] && rendition === b.runs[index]![1])
  );
}

/** A terminal's screen with a place for each of its columns and rows; as large as there is room for. */
export function ScreenRows({
  columns,
  rows,
  cursor,
  paper = false,
}: {
  columns: number;
  rows: readonly Runs[];
  cursor: { row: number; column: number } | null;
  paper?: boolean;
}) {
  return (
    <div className={paper ? "screen-place is-paper" : "screen-place"}>
      <div className="screen" style={{ "--columns": columns } as CSSProperties}>
        {rows.map((runs, row) => (
          <Row
            // biome-ignore lint/suspicious/noArrayIndexKey: rows keep their places
            key={row}
            runs={runs}
            cursor={cursor?.row === row ? cursor.column : -1}
          />
        ))}
      </div>
    </div>
  );
}
