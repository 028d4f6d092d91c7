import type { MemoryPicture } from "@rouse/core/memory";
import { memo } from "react";
import { bytesInWords, hexOf } from "../../parts/words.ts";

const [TOP, HIGH] = [14, 448];
const SPACE = { x: 52, width: 66 };
const CHIPS = { x: 250, width: 54 };
const WIDTH = 420;
const LEAST = 4;
const GAP = 10;
/** Height of a line of text. */
const LINE = 12;

const yOf = (address: number): number => TOP + HIGH - (address / 0x1_0000) * HIGH;

type Line = MemoryPicture["lines"][number];

/** Runs of the CPU's space that lead to one stretch of a part; blocks of a translation that follow one another are one. */
function joined(lines: readonly Line[]): Line[] {
  const found: Line[] = [];
  for (const line of lines) {
    const last = found.at(-1);
    if (
      last &&
      last.part === line.part &&
      last.access === line.access &&
      last.to + 1 === line.from &&
      last.last + 1 === line.first
    )
      found[found.length - 1] = { ...last, to: line.to, last: line.last };
    else found.push(line);
  }
  return found;
}

/** Where each part stands on the right: one above the other, as high as its bytes. */
function standing({ parts }: MemoryPicture): Map<string, { y: number; height: number }> {
  const chips = parts.filter(({ kind }) => kind !== "io");
  const whole = chips.reduce((sum, { bytes }) => sum + bytes, 0) || 1;
  const room = HIGH - GAP * Math.max(0, chips.length - 1);
  const places = new Map<string, { y: number; height: number }>();
  let foot = TOP + HIGH;
  for (const { name, bytes } of chips) {
    const height = Math.max(LEAST, (bytes / whole) * room);
    places.set(name, { y: foot - height, height });
    foot -= height + GAP;
  }
  return places;
}

/** Registers that point too near one another to be told apart share a mark. */
function gathered(marks: readonly { name: string; at: number }[]): { names: string; at: number }[] {
  const found: { names: string; at: number }[] = [];
  for (const { name, at } of [...marks].sort((a, b) => a.at - b.at)) {
    const last = found.at(-1);
    if (last && yOf(last.at) - yOf(at) < LINE) last.names += ` ${name}`;
    else found.push({ names: name, at });
  }
  return found;
}

/** What the CPU sees, beside the chips that it sees. `marks`: registers that point somewhere. */
export const MemoryMapPicture = memo(function MemoryMapPicture({
  picture,
  marks,
}: {
  picture: MemoryPicture;
  marks: readonly { name: string; at: number }[];
}) {
  const places = standing(picture);
  const lines = joined(picture.lines).filter(({ part }) => places.has(part));
  let lowest = TOP + HIGH + 20;
  return (
    <svg
      className="map"
      viewBox={`0 0 ${WIDTH} ${TOP + HIGH + 16}`}
      role="img"
      aria-label="The addresses of the CPU on the left, the memory chips on the right, and lines between them; the list below says the same"
    >
      {lines.map(({ from, to, part, first, last, access }) => {
        const size = picture.parts.find(({ name }) => name === part)!.bytes;
        const { y, height } = places.get(part)!;
        const on = (byte: number): string => (y + height - (byte / size) * height).toFixed(1);
        const [left, right] = [SPACE.x + SPACE.width, CHIPS.x];
        return (
          <path
            key={`${from} ${part} ${access}`}
            className={access === "write" ? "map-line is-write" : "map-line"}
            d={`M${left} ${yOf(to + 1).toFixed(1)}L${right} ${on(last + 1)}V${on(first)}L${left} ${yOf(from).toFixed(1)}Z`}
          />
        );
      })}
      {picture.space.map(({ from, to, kind, title }) => {
        const y = yOf(to + 1);
        const height = Math.max(1.5, yOf(from) - y);
        const hasAddress = lowest - yOf(from) >= 12;
        if (hasAddress) lowest = yOf(from);
        return (
          <g key={from}>
            <rect className={`map-${kind}`} x={SPACE.x} y={y} width={SPACE.width} height={height}>
              <title>{`${hexOf(from)} to ${hexOf(to)}: ${title}`}</title>
            </rect>
            {hasAddress && (
              <text className="is-mono" x={SPACE.x - 5} y={yOf(from) - 1} textAnchor="end">
                {hexOf(from).slice(1)}
              </text>
            )}
          </g>
        );
      })}
      {gathered(marks).map(({ names, at }) => (
        <g key={names} className="map-mark">
          <path d={`M${SPACE.x + 1} ${yOf(at + 1)}l9 -4.5v9z`} />
          <text x={SPACE.x + 14} y={Math.min(TOP + HIGH - 2, yOf(at + 1) + 4)}>
            {names}
          </text>
        </g>
      ))}
      {picture.parts.map(({ name, kind, bytes, board }) => {
        const place = places.get(name);
        if (!place) return null;
        const middle = place.y + place.height / 2;
        return (
          <g key={name}>
            <rect className={`map-${kind}`} x={CHIPS.x} y={place.y} width={CHIPS.width} height={place.height} />
            <text x={CHIPS.x + CHIPS.width + 8} y={middle}>
              {name}
            </text>
            <text className="is-quiet" x={CHIPS.x + CHIPS.width + 8} y={middle + 14}>
              {bytes % 1024 === 0 ? `${bytes / 1024} KiB` : `${bytes} bytes`}
            </text>
            {board && <title>{`${name}, on ${board}`}</title>}
          </g>
        );
      })}
    </svg>
  );
});

/** Latches and translation, as they stand. */
export const Latches = memo(function Latches({ picture }: { picture: MemoryPicture }) {
  const { latches, translation } = picture;
  if (latches.length === 0 && !translation) return <p className="quiet">This machine has no latches.</p>;
  return (
    <dl className="shown-facts" data-testid="latches">
      {latches.map(({ name, bits, value, at }) => (
        <div key={name}>
          <dt>
            {name}
            {at === undefined ? "" : `, ${hexOf(at)}`}
          </dt>
          <dd>
            <code>{value.toString(2).padStart(bits, "0")}</code> ({value})
          </dd>
        </div>
      ))}
      {translation && (
        <div>
          <dt>translation</dt>
          <dd>
            {translation.on ? `on, map ${translation.task} of ${translation.tasks}` : "off"}
            {translation.on && (
              <ol className="map-blocks" aria-label="Physical block behind each logical block">
                {translation.map.map((block, logical) => (
                  // biome-ignore lint/suspicious/noArrayIndexKey: logical blocks keep their places
                  <li key={logical}>
                    <span>{logical.toString(16).toUpperCase()}</span>
                    {block}
                  </li>
                ))}
              </ol>
            )}
          </dd>
        </div>
      )}
    </dl>
  );
});

/** The picture in words. */
export const MapInWords = memo(function MapInWords({ picture }: { picture: MemoryPicture }) {
  return (
    <ul className="map-words">
      {joinedSpace(picture.space).map(({ from, to, title, kind, bank, block, mirror }) => (
        <li key={from}>
          <code>
            {hexOf(from)}–{hexOf(to).slice(1)}
          </code>{" "}
          {title}
          {kind === "hole" || kind === "clash" ? "" : `, ${kind === "io" ? "registers" : kind}`}
          {bank === undefined ? "" : `, bank ${bank}`}
          {block === undefined ? "" : `, block ${block}`}
          {mirror ? ", mirror" : ""}, {bytesInWords(to - from + 1)}
        </li>
      ))}
    </ul>
  );
});

type Stretch = MemoryPicture["space"][number];

/** Mirrors that follow one another are one line. */
function joinedSpace(space: readonly Stretch[]): Stretch[] {
  const found: Stretch[] = [];
  for (const each of space) {
    const last = found.at(-1);
    if (last?.mirror && each.mirror && last.title === each.title) found[found.length - 1] = { ...last, to: each.to };
    else found.push(each);
  }
  return found;
}
