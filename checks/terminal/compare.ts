import { idealAbility, Rendition, Screen } from "@rouse/core/terminal";
import headless from "@xterm/headless";
import { ALLOWED, without as cut } from "./allowed.ts";
import { randomPieces, sizeOf } from "./streams.ts";

/** Our screen model beside that of `@xterm/headless` 6.0.0, stream by stream. */

interface Picture {
  lines: string[];
  /** Row by row, the renditions of positions that hold a visible character. */
  renditions: string[];
  cursor: string;
}

const SEEN = /[^ ]/;

function ours(bytes: Uint8Array, columns: number, rows: number): Picture {
  const screen = new Screen(idealAbility(columns, rows));
  screen.write(bytes);
  const { row, column, waits } = screen.cursor;
  const lines = screen.lines();
  const renditions = lines.map((line, index) => {
    const { renditions: each } = screen.page.row(index);
    return [...line].map((character, i) => (SEEN.test(character) ? each[i]!.toString(36) : ".")).join(",");
  });
  return { lines, renditions, cursor: `${row},${waits ? columns : column}` };
}

/** The stream goes in as characters 00 to FF, since the reference reads bytes as UTF-8. */
async function theirs(bytes: Uint8Array, columns: number, rows: number): Promise<Picture> {
  // A new one each time: resetting an old one leaves modes and renditions behind.
  const terminal = new headless.Terminal({
    cols: columns,
    rows,
    scrollback: 0,
    allowProposedApi: true,
    logLevel: "off",
  });
  await new Promise<void>((done) => terminal.write(String.fromCharCode(...bytes), done));
  const { active } = terminal.buffer;
  const lines: string[] = [];
  const renditions: string[] = [];
  for (let row = 0; row < rows; row++) {
    const line = active.getLine(active.baseY + row)!;
    const text = line.translateToString(false).trimEnd();
    lines.push(text);
    const each: string[] = [];
    for (let column = 0; column < text.length; column++) {
      const cell = line.getCell(column)!;
      if (!SEEN.test(text[column]!)) {
        each.push(".");
        continue;
      }
      let rendition = 0;
      if (cell.isBold()) rendition |= Rendition.Bold;
      if (cell.isDim()) rendition |= Rendition.Faint;
      if (cell.isItalic()) rendition |= Rendition.Italic;
      if (cell.isUnderline()) rendition |= Rendition.Underlined;
      if (cell.isBlink()) rendition |= Rendition.Blinking;
      if (cell.isInverse()) rendition |= Rendition.Negative;
      if (cell.isInvisible()) rendition |= Rendition.Concealed;
      if (cell.isStrikethrough()) rendition |= Rendition.CrossedOut;
      if (cell.isFgPalette() && cell.getFgColor() < 8) rendition |= (cell.getFgColor() + 1) << 12;
      if (cell.isBgPalette() && cell.getBgColor() < 8) rendition |= (cell.getBgColor() + 1) << 16;
      each.push(rendition.toString(36));
    }
    renditions.push(each.join(","));
  }
  const picture = { lines, renditions, cursor: `${active.cursorY},${active.cursorX}` };
  terminal.dispose();
  return picture;
}

const same = (a: Picture, b: Picture): boolean => JSON.stringify(a) === JSON.stringify(b);

interface Outcome {
  streams: number;
  agreed: number;
  /** Streams that agree once the functions of an entry of the list are taken out, by entry. */
  allowed: Map<string, number>;
  differ: { seed: number; stream: string; ours: Picture; theirs: Picture }[];
}

const flat = (pieces: readonly number[][]): Uint8Array => Uint8Array.from(pieces.flat());

/** The fewest entries of the list, in its order, without whose functions the two agree; undefined where none help. */
async function excused(bytes: Uint8Array, columns: number, rows: number): Promise<string[] | undefined> {
  const agree = async (rest: Uint8Array): Promise<boolean> =>
    same(ours(rest, columns, rows), await theirs(rest, columns, rows));
  const names: string[] = [];
  let rest = bytes;
  // Twice, since what is taken out can bring the bytes of another function together.
  for (const entry of [...ALLOWED, ...ALLOWED]) {
    const alone = cut(bytes, entry.is);
    if (alone.length !== bytes.length && (await agree(alone))) return [entry.name];
    const next = cut(rest, entry.is);
    if (next.length === rest.length) continue;
    names.push(entry.name);
    rest = next;
    if (await agree(rest)) return names;
  }
  return undefined;
}

export async function compare(from: number, to: number): Promise<Outcome> {
  const outcome: Outcome = { streams: 0, agreed: 0, allowed: new Map(), differ: [] };
  const one = async (seed: number): Promise<void> => {
    const { columns, rows } = sizeOf(seed);
    const bytes = flat(randomPieces(seed));
    const [mine, other] = [ours(bytes, columns, rows), await theirs(bytes, columns, rows)];
    outcome.streams++;
    if (same(mine, other)) {
      outcome.agreed++;
      return;
    }
    const names = await excused(bytes, columns, rows);
    if (names) {
      const last = names[names.length - 1]!;
      outcome.allowed.set(last, (outcome.allowed.get(last) ?? 0) + 1);
    } else
      outcome.differ.push({ seed, stream: JSON.stringify(String.fromCharCode(...bytes)), ours: mine, theirs: other });
  };
  const BATCH = 64;
  for (let seed = from; seed < to; seed += BATCH)
    await Promise.all(Array.from({ length: Math.min(BATCH, to - seed) }, (_, i) => one(seed + i)));
  return outcome;
}
