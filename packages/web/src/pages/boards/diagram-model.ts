import type { Span, Trace } from "@rouse/core/board";

/** Part of a trace during which its signal stays as it is. Times in s. */
export interface Piece {
  from: number;
  to: number;
  state: Trace["edges"][number]["to"];
}

/** A trace as pieces up to the end of the drawing. */
export function piecesOf({ edges }: Trace, end: number): Piece[] {
  const sorted = edges.filter(({ at }) => at < end);
  return sorted.map(({ at, to }, index) => ({ from: at, to: sorted[index + 1]?.at ?? end, state: to }));
}

/** The outline of a piece between two heights: lines for levels, a hexagon for what is valid, a crossing for what changes. */
export function outline(piece: Piece, x: (seconds: number) => number, high: number, low: number): string {
  const [from, to] = [x(piece.from), x(piece.to)];
  const middle = (high + low) / 2;
  const slant = Math.min(4, (to - from) / 2);
  switch (piece.state) {
    case "low":
      return `M${from} ${low}H${to}`;
    case "high":
      return `M${from} ${low}V${high}H${to}V${low}`;
    case "off":
      return `M${from} ${middle}H${to}`;
    case "changing":
      return `M${from} ${high}H${to}V${low}H${from}Z`;
    default:
      return `M${from} ${middle}L${from + slant} ${high}H${to}M${from} ${middle}L${from + slant} ${low}H${to}`;
  }
}

/** When the data are there and when they are taken, s: the margin lies between them. */
export function marginOf(spans: readonly Span[]): { there: number; needed: number } {
  const setUp = spans.find(({ kind }) => kind === "set-up");
  const before = spans.filter(({ kind }) => kind !== "set-up" && kind !== "edge");
  return { there: before.at(-1)?.to ?? 0, needed: setUp?.from ?? 0 };
}
