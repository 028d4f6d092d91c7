/** A screen as text in a frame of its size, under its title. */
export interface Shown {
  title: string;
  columns: number;
  lines: readonly string[];
}

const MARK = "≠";

const edge = ({ columns }: Shown, ends: string): string => `${ends[0]}${"─".repeat(columns)}${ends[1]}`;
const titled = ({ title, columns }: Shown): string => title.slice(0, columns + 2).padEnd(columns + 2);
const cell = ({ lines, columns }: Shown, row: number): string =>
  row < lines.length ? `│${lines[row]!.slice(0, columns).padEnd(columns)}│` : " ".repeat(columns + 2);
const trimmed = (lines: readonly string[]): string => lines.map((line) => line.trimEnd()).join("\n");

export const framed = (shown: Shown): string =>
  trimmed([titled(shown), edge(shown, "┌┐"), ...shown.lines.map((_line, row) => cell(shown, row)), edge(shown, "└┘")]);

/** Two screens beside one another; rows in which they differ get a sign between the frames. */
export function sideBySide(left: Shown, right: Shown): string {
  const rows = Math.max(left.lines.length, right.lines.length);
  const out = [`${titled(left)}   ${titled(right)}`, `${edge(left, "┌┐")}   ${edge(right, "┌┐")}`];
  for (let row = 0; row < rows; row++) {
    const same = (left.lines[row] ?? "").trimEnd() === (right.lines[row] ?? "").trimEnd();
    out.push(`${cell(left, row)} ${same ? " " : MARK} ${cell(right, row)}`);
  }
  out.push(`${edge(left, "└┘")}   ${edge(right, "└┘")}`);
  return trimmed(out);
}
