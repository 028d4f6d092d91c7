import { escapeHtml } from "../bytes/index.ts";
import { Rendition, type Screen } from "../terminal/index.ts";
import { runsOf } from "./replay.ts";

/** A position of the drawing, in its own units: monospaced letters are about 0.6 of their size wide. */
const [WIDE, HIGH, EDGE] = [6, 12, 9];
const [GROUND, LETTERS] = ["#14181a", "#d9e6d2"];

const number = (value: number): string => String(Math.round(value * 100) / 100);

/** A screen as a drawing that stands alone: every letter in its own column, whatever font is at hand. */
export function screenSvg(screen: Screen, title: string): string {
  const { columns, rows } = screen;
  const [width, height] = [columns * WIDE + 2 * EDGE, rows * HIGH + 2 * EDGE];
  const parts: string[] = [];
  for (let row = 0; row < rows; row++) {
    let column = 0;
    for (const [text, rendition] of runsOf(screen, row)) {
      const has = (aspect: number) => (rendition & aspect) !== 0;
      const [x, y, length] = [EDGE + column * WIDE, EDGE + row * HIGH, [...text].length];
      column += length;
      const negative = has(Rendition.Negative);
      if (negative)
        parts.push(
          `<rect x="${number(x)}" y="${number(y)}" width="${length * WIDE}" height="${HIGH}" fill="${LETTERS}"/>`,
        );
      if (has(Rendition.Concealed) || text.trim() === "") continue;
      const lines = [
        ...(has(Rendition.Underlined) ? ["underline"] : []),
        ...(has(Rendition.CrossedOut) ? ["line-through"] : []),
      ];
      const style = [
        negative ? ` fill="${GROUND}"` : "",
        has(Rendition.Bold) ? ' font-weight="bold"' : "",
        has(Rendition.Faint) ? ' opacity="0.6"' : "",
        has(Rendition.Italic) ? ' font-style="italic"' : "",
        lines.length > 0 ? ` text-decoration="${lines.join(" ")}"` : "",
      ].join("");
      const places = Array.from({ length }, (_, index) => number(x + index * WIDE)).join(" ");
      parts.push(`<text x="${places}" y="${number(y + HIGH * 0.78)}"${style}>${escapeHtml(text)}</text>`);
    }
  }
  const text = screen.lines().join("\n").trimEnd();
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" role="img" xml:space="preserve"><title>${escapeHtml(title)}</title><desc>${escapeHtml(text)}</desc><rect width="${width}" height="${height}" rx="5" fill="${GROUND}"/><g fill="${LETTERS}" font-family="ui-monospace,Consolas,monospace" font-size="10">${parts.join("")}</g></svg>\n`;
}
