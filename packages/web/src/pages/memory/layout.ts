import type { MemoryPicture } from "@rouse/core/memory";

const SPACE = 0x1_0000;
/** Rows of the CPU's space beyond which it is drawn page by page. */
const MOST_ROWS = 160;
/** Least height of a row, where there is room for it, px. */
const LEAST = 17;

export interface Row {
  from: number;
  to: number;
  y: number;
  height: number;
  kind: MemoryPicture["space"][number]["kind"];
  title: string;
  /** "bank 3", "block 12". */
  detail: string;
  mirror: boolean;
}

/** The CPU's space as it is drawn: small stretches get a height that can be seen and hit. */
export interface SpaceLayout {
  rows: readonly Row[];
  yOf(address: number): number;
  addressAt(y: number): number;
}

type Stretch = Omit<Row, "y" | "height">;

const detailOf = ({ bank, block, mirror }: MemoryPicture["space"][number]): string =>
  [
    ...(block === undefined ? [] : [`block ${block}`]),
    ...(bank === undefined ? [] : [`bank ${bank}`]),
    ...(mirror ? ["mirror"] : []),
  ].join(", ");

/** Stretches that look alike as one, so that 64 mirrors of a port are one row. */
function stretchesOf(space: MemoryPicture["space"]): Stretch[] {
  const rows: Stretch[] = [];
  for (const each of space) {
    const { from, to, kind, title, mirror } = each;
    const detail = detailOf(each);
    const last = rows.at(-1);
    if (last?.mirror && mirror && last.title === title && last.detail === detail) last.to = to;
    else rows.push({ from, to, kind, title, detail, mirror });
  }
  if (rows.length <= MOST_ROWS) return rows;
  const pages: Stretch[] = [];
  let next = 0;
  for (let from = 0; from < SPACE; from += 256) {
    while (space[next]!.to < from) next++;
    const { kind, title } = space[next]!;
    const last = pages.at(-1);
    if (last && last.title === title && last.kind === kind) last.to = from + 255;
    else pages.push({ from, to: from + 255, kind, title, detail: "finely divided", mirror: false });
  }
  return pages;
}

/** Lays the space out in a height; `cuts` are addresses at which rows are parted besides. */
export function layoutSpace(space: MemoryPicture["space"], height: number, cuts: readonly number[] = []): SpaceLayout {
  const stretches = stretchesOf(space);
  const bounds = [...new Set([...stretches.map(({ from }) => from), ...cuts.filter((at) => at > 0 && at < SPACE)])];
  bounds.sort((a, b) => a - b);
  const least = Math.min(LEAST, (height / bounds.length) * 0.85);
  const rest = height - least * bounds.length;
  const marks: { at: number; y: number }[] = [];
  let y = 0;
  for (const [index, at] of bounds.entries()) {
    marks.push({ at, y });
    y += least + (rest * ((bounds[index + 1] ?? SPACE) - at)) / SPACE;
  }
  marks.push({ at: SPACE, y: height });
  const yOf = (address: number): number => between(marks, address, "at", "y");
  return {
    yOf,
    addressAt: (place) => Math.min(SPACE - 1, Math.max(0, Math.floor(between(marks, place, "y", "at")))),
    rows: stretches.map((each) => ({ ...each, y: yOf(each.from), height: yOf(each.to + 1) - yOf(each.from) })),
  };
}

/** Piecewise linear from one scale to the other. */
function between(marks: readonly { at: number; y: number }[], value: number, key: "at" | "y", to: "at" | "y"): number {
  let low = 0;
  let high = marks.length - 1;
  if (value <= marks[low]![key]) return marks[low]![to];
  if (value >= marks[high]![key]) return marks[high]![to];
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (marks[middle]![key] <= value) low = middle;
    else high = middle;
  }
  const [a, b] = [marks[low]!, marks[high]!];
  const share = b[key] === a[key] ? 0 : (value - a[key]) / (b[key] - a[key]);
  return a[to] + share * (b[to] - a[to]);
}
