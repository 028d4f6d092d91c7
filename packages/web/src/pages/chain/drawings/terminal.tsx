import type { DrawingProps } from "../stations.ts";
import { fitted, Label, NotThere, TABLE } from "./paper.tsx";

const SCREEN = { x: 22, y: 84, width: 142, height: 106 };
/** What the system greets with, for the feel of the screen's width. */
const LINES = ["Good morning.", "", "Name: guest", "", "> _"];
const WIDE = "The quick brown fox jumps over the lazy dog, and an 80-column line ends just here";

/** The terminal with a cell for each of its true columns and rows. */
export function TerminalDrawing({ drawing: { terminal } }: DrawingProps) {
  if (!terminal) return <NotThere width={186} what="terminal" />;
  const { columns, rows } = terminal;
  const tube = terminal.display !== "flat panel" && terminal.display !== "paper";
  return (
    <g>
      <Label x={93} y={50} anchor="middle" size={9.5}>
        {fitted(terminal.name, 30)}
        {terminal.rate ? `, ${terminal.rate}` : ""}
      </Label>
      {terminal.display === "paper" ? (
        <path className="d-sheet" d={`M14 ${SCREEN.y - 14}H172V206H14Z`} />
      ) : (
        <rect className="d-case is-outlined" x="8" y={SCREEN.y - 18} width="170" height="150" rx={tube ? 14 : 4} />
      )}
      <rect
        className={terminal.display === "paper" ? "d-sheet" : "d-screen"}
        x={SCREEN.x - 6}
        y={SCREEN.y - 6}
        width={SCREEN.width + 12}
        height={SCREEN.height + 12}
        rx={tube ? 10 : 2}
      />
      {columns && rows ? (
        <Cells columns={columns} rows={rows} paper={terminal.display === "paper"} />
      ) : (
        <text className="d-glow" x={SCREEN.x + 8} y={SCREEN.y + 24} fontSize="10">
          size not known
        </text>
      )}
      <path className="d-part" d={`M62 216h62l8 22H54z`} />
      <rect className="d-part" x="26" y="238" width="134" height={TABLE - 238} rx="3" />
      <path className="d-bytes" d="M34 243h118M34 247h118" />
    </g>
  );
}

function Cells({ columns, rows, paper }: { columns: number; rows: number; paper: boolean }) {
  const [cellWidth, cellHeight] = [SCREEN.width / columns, SCREEN.height / rows];
  const lines: string[] = [];
  for (let at = 0; at < WIDE.length; at += columns) lines.push(WIDE.slice(at, at + columns).trim());
  lines.push("", ...LINES);
  const verticals = Array.from({ length: columns + 1 }, (_, index) => SCREEN.x + index * cellWidth);
  const horizontals = Array.from({ length: rows + 1 }, (_, index) => SCREEN.y + index * cellHeight);
  return (
    <g className={paper ? "cells is-paper" : "cells"}>
      <path
        className="cell-lines"
        d={[
          ...verticals.map((x) => `M${x.toFixed(2)} ${SCREEN.y}v${SCREEN.height}`),
          ...horizontals.map((y) => `M${SCREEN.x} ${y.toFixed(2)}h${SCREEN.width}`),
        ].join("")}
      />
      {lines.slice(0, rows).map(
        (line, row) =>
          line !== "" && (
            <text
              // biome-ignore lint/suspicious/noArrayIndexKey: lines keep their order
              key={row}
              x={SCREEN.x}
              y={SCREEN.y + (row + 0.82) * cellHeight}
              fontSize={Math.min(cellHeight * 0.95, cellWidth * 1.75)}
              textLength={line.length * cellWidth}
              lengthAdjust="spacingAndGlyphs"
            >
              {line}
            </text>
          ),
      )}
    </g>
  );
}
