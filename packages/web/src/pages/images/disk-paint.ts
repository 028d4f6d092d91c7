import { type Disk, type Look, sectorsOn } from "./disk-model.ts";

/** Colours for the canvas, taken from the style sheet, so that they follow the theme. */
export type Inks = Readonly<Record<Look | "line" | "ink" | "accent" | "sheet" | "mark", string>>;

export function inksOf(element: HTMLElement): Inks {
  const probe = document.createElement("span");
  element.append(probe);
  const read = (name: string): string => {
    probe.style.color = `var(${name})`;
    return getComputedStyle(probe).color;
  };
  const inks = {
    free: read("--disk-free"),
    system: read("--disk-system"),
    book: read("--disk-book"),
    file: read("--disk-file"),
    bad: read("--stops"),
    lost: read("--stops"),
    clash: read("--stops"),
    line: read("--disk-line"),
    ink: read("--ink"),
    accent: read("--disk-chosen"),
    sheet: read("--sheet"),
    mark: read("--stops"),
  };
  probe.remove();
  return inks;
}

/** Radii of the recorded ring in a square of 1 × 1: outermost and innermost. */
const OUTER = 0.465;
const INNER = 0.14;

export const ringOf = (tracks: number): number => (OUTER - INNER) / tracks;
const TOP = -Math.PI / 2;

/** The block under a point of one side, the side's square being 1 × 1; undefined outside the tracks. */
export function blockUnder({ map }: Disk, side: 0 | 1, x: number, y: number): number | undefined {
  const [dx, dy] = [x - 0.5, y - 0.5];
  const radius = Math.hypot(dx, dy);
  const track = Math.floor((OUTER - radius) / ringOf(map.geometry.tracks));
  if (track < 0 || track >= map.geometry.tracks) return undefined;
  const turn = (Math.atan2(dy, dx) - TOP + 4 * Math.PI) % (2 * Math.PI);
  const sectors = sectorsOn(map, track, side);
  const sector = Math.min(sectors - 1, Math.floor((turn / (2 * Math.PI)) * sectors));
  return sector < 0 ? undefined : map.block({ track, side, sector });
}

interface Cell {
  outer: number;
  inner: number;
  from: number;
  to: number;
}

function cellOf({ map }: Disk, block: number): Cell {
  const { track, side, sector } = map.place(block);
  const ring = ringOf(map.geometry.tracks);
  const turn = (2 * Math.PI) / sectorsOn(map, track, side);
  return {
    outer: OUTER - track * ring,
    inner: OUTER - (track + 1) * ring,
    from: TOP + sector * turn,
    to: TOP + (sector + 1) * turn,
  };
}

function trace(pen: CanvasRenderingContext2D, size: number, { outer, inner, from, to }: Cell, gap: number): void {
  const middle = size / 2;
  const [big, small] = [outer * size - gap, inner * size];
  pen.beginPath();
  pen.arc(middle, middle, big, from, to - gap / big);
  pen.arc(middle, middle, small, to - gap / Math.max(1, small), from, true);
  pen.closePath();
}

/** Strokes across, so that trouble shows without colour too. */
function hatch(ink: string, ground: string, scale: number): CanvasPattern | string {
  const tile = document.createElement("canvas");
  tile.width = tile.height = Math.round(4 * scale);
  const pen = tile.getContext("2d");
  if (!pen) return ink;
  pen.fillStyle = ground;
  pen.fillRect(0, 0, tile.width, tile.height);
  pen.strokeStyle = ink;
  pen.lineWidth = 1.6 * scale;
  pen.beginPath();
  pen.moveTo(-1, tile.height + 1);
  pen.lineTo(tile.width + 1, -1);
  pen.stroke();
  return pen.createPattern(tile, "repeat") ?? ink;
}

/** Draws all sectors of one side. `size` is the square's side in device pixels. */
export function paintSide(
  pen: CanvasRenderingContext2D,
  disk: Disk,
  side: 0 | 1,
  size: number,
  inks: Inks,
  scale: number,
): void {
  const { map, looks, damaged } = disk;
  const { geometry } = map;
  const middle = size / 2;
  pen.clearRect(0, 0, size, size);
  circle(pen, middle, (OUTER + 0.006) * size);
  pen.fillStyle = inks.line;
  pen.fill();
  pen.strokeStyle = inks.ink;
  pen.lineWidth = scale;
  pen.stroke();
  const troubled = hatch(inks.mark, inks.sheet, scale);
  const gap = ringOf(geometry.tracks) * size > 3 * scale ? 0.7 * scale : 0.35 * scale;
  const marks: number[] = [];
  for (let track = 0; track < geometry.tracks; track++)
    for (let sector = 0; sector < sectorsOn(map, track, side); sector++) {
      const block = map.block({ track, side, sector });
      const look = looks[block] ?? "free";
      const cell = cellOf(disk, block);
      trace(pen, size, cell, gap);
      pen.fillStyle = look === "bad" || look === "lost" ? troubled : look === "clash" ? inks.clash : inks[look];
      pen.fill();
      if (damaged.has(block) || look === "bad" || look === "lost" || look === "clash")
        marks.push((cell.from + cell.to) / 2);
    }
  // Where the number of sectors changes, a zone ends.
  pen.strokeStyle = inks.ink;
  pen.lineWidth = 0.8 * scale;
  for (let track = 1; track < geometry.tracks; track++)
    if (sectorsOn(map, track, side) !== sectorsOn(map, track - 1, side)) {
      circle(pen, middle, (OUTER - track * ringOf(geometry.tracks)) * size);
      pen.stroke();
    }
  circle(pen, middle, INNER * size - scale);
  pen.fillStyle = inks.sheet;
  pen.fill();
  pen.stroke();
  // Damage is told at the rim too, where a single sector would be too small to be seen.
  pen.fillStyle = inks.mark;
  for (const angle of new Set(marks.map((each) => Math.round(each * 60) / 60))) {
    pen.save();
    pen.translate(middle + Math.cos(angle) * (OUTER + 0.012) * size, middle + Math.sin(angle) * (OUTER + 0.012) * size);
    pen.rotate(angle);
    pen.beginPath();
    pen.moveTo(0, 0);
    pen.lineTo(8 * scale, -3.5 * scale);
    pen.lineTo(8 * scale, 3.5 * scale);
    pen.fill();
    pen.restore();
  }
}

/** Draws what is chosen over one side: the blocks of a file, and the cursor. */
export function paintChoice(
  pen: CanvasRenderingContext2D,
  disk: Disk,
  side: 0 | 1,
  size: number,
  inks: Inks,
  scale: number,
  chosen: ReadonlySet<number>,
  cursor: number | undefined,
): void {
  pen.clearRect(0, 0, size, size);
  const onSide = (block: number): boolean => disk.map.place(block).side === side;
  for (const block of chosen) {
    if (!onSide(block)) continue;
    trace(pen, size, cellOf(disk, block), 0);
    pen.fillStyle = inks.accent;
    pen.fill();
  }
  if (cursor === undefined || !onSide(cursor)) return;
  const cell = cellOf(disk, cursor);
  trace(pen, size, cell, 0);
  pen.strokeStyle = inks.sheet;
  pen.lineWidth = 5 * scale;
  pen.stroke();
  pen.strokeStyle = inks.ink;
  pen.lineWidth = 2 * scale;
  pen.stroke();
  // A hair from the hub and the rim leads the eye to a sector of two pixels.
  const [angle, middle] = [(cell.from + cell.to) / 2, size / 2];
  pen.lineWidth = scale;
  pen.beginPath();
  for (const [one, other] of [
    [cell.outer + 0.004, OUTER + 0.03],
    [INNER, cell.inner - 0.004],
  ] as const) {
    pen.moveTo(middle + Math.cos(angle) * one * size, middle + Math.sin(angle) * one * size);
    pen.lineTo(middle + Math.cos(angle) * other * size, middle + Math.sin(angle) * other * size);
  }
  pen.stroke();
}

function circle(pen: CanvasRenderingContext2D, middle: number, radius: number): void {
  pen.beginPath();
  pen.arc(middle, middle, radius, 0, 2 * Math.PI);
}
