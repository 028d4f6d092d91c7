/** Wraps words to a width, each line with its indent. */
export function wrap(text: string, width: number, indent = ""): string[] {
  const lines: string[] = [];
  let line = "";
  for (const word of text.split(/\s+/)) {
    if (line !== "" && indent.length + line.length + 1 + word.length > width) {
      lines.push(indent + line);
      line = word;
    } else line = line === "" ? word : `${line} ${word}`;
  }
  if (line !== "") lines.push(indent + line);
  return lines;
}

/** Lays rows out in columns, the last one ragged. */
export function columns(rows: readonly (readonly string[])[], gap = 2): string[] {
  const widths: number[] = [];
  for (const row of rows)
    for (const [index, cell] of row.entries()) widths[index] = Math.max(widths[index] ?? 0, cell.length);
  return rows.map((row) =>
    row
      .map((cell, index) => (index === row.length - 1 ? cell : cell.padEnd(widths[index]! + gap)))
      .join("")
      .trimEnd(),
  );
}

const SGR = { bold: 1, faint: 2, red: 31, green: 32, yellow: 33, blue: 34 } as const;

/** Text in a rendition of ECMA-48's SGR, where the terminal shows it. */
export const paint = (colour: boolean, how: keyof typeof SGR, text: string): string =>
  colour ? `\u001b[${SGR[how]}m${text}\u001b[0m` : text;
