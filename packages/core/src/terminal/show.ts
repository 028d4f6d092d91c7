/** Two screens as text beside one another, each in a frame of its size, under its title. */
export interface Shown {
  title: string;
  columns: number;
  lines: readonly string[];
}

const MARK = "≠";

/** `marks`: rows in which the two differ get a sign between the frames. */
export function sideBySide(left: Shown, right: Shown): string {
  const rows = Math.max(left.lines.length, right.lines.length);
  const cell = ({ lines, columns }: Shown, row: number): string =>
    row < lines.length ? `│${lines[row]!.slice(0, columns).padEnd(columns)}│` : " ".repeat(columns + 2);
  const edge = ({ columns }: Shown, ends: string): string => `${ends[0]}${"─".repeat(columns)}${ends[1]}`;
  const title = ({ title: text, columns }: Shown): string => text.slice(0, columns + 2).padEnd(columns + 2);
  const out = [`${title(left)}   ${title(right)}`, `${edge(left, "┌┐")}   ${edge(right, "┌┐")}`];
  for (let row = 0; row < rows; row++) {
    const same = (left.lines[row] ?? "").trimEnd() === (right.lines[row] ?? "").trimEnd();
    out.push(`${cell(left, row)} ${same ? " " : MARK} ${cell(right, row)}`);
  }
  out.push(`${edge(left, "└┘")}   ${edge(right, "└┘")}`);
  return out.map((line) => line.trimEnd()).join("\n");
}
