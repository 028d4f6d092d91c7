import { type KeyboardEvent, type PointerEvent, useEffect, useRef, useState } from "react";
import { useRedraw } from "../../parts/use-redraw.ts";
import { hexOf } from "../../parts/words.ts";
import {
  type Disk,
  inOneSentence,
  keyedFrom,
  LOOK_WORDS,
  type Look,
  sectorsOn,
  tell,
  zonesInWords,
} from "./disk-model.ts";
import { blockUnder, inksOf, paintChoice, paintSide } from "./disk-paint.ts";

const ORDER: readonly Look[] = ["file", "book", "system", "free", "lost", "clash", "bad"];

/** The disk as a picture, side by side; pointer and keys go from sector to sector, and each says what it is. */
export function DiskPicture({
  disk,
  chosen,
  cursor,
  onCursor,
  onChoose,
}: {
  disk: Disk;
  /** Blocks of the selected file. */
  chosen: ReadonlySet<number>;
  cursor: number | undefined;
  onCursor: (block: number) => void;
  /** A sector was picked: its owner is to be selected. */
  onChoose: (block: number) => void;
}) {
  const place = useRef<HTMLDivElement>(null);
  const redraw = useRedraw(place);
  const [hovered, setHovered] = useState<number | undefined>();
  const [spoken, setSpoken] = useState("");
  const { sides } = disk.map.geometry;
  const shown = hovered ?? cursor ?? 0;

  const press = (event: KeyboardEvent): void => {
    const from = cursor ?? 0;
    if (event.key === "Enter" || event.key === " ") {
      onChoose(from);
      event.preventDefault();
      return;
    }
    const to = keyedFrom(disk, from, event.key, event.ctrlKey || event.metaKey);
    if (to === undefined) return;
    event.preventDefault();
    setHovered(undefined);
    onCursor(to);
    setSpoken(inOneSentence(tell(disk, to)));
  };

  return (
    <section className="disk" aria-labelledby="disk-title">
      <h2 id="disk-title" className="sr-only">
        The disk
      </h2>
      <div
        className={sides === 2 ? "disk-sides is-two" : "disk-sides"}
        ref={place}
        role="application"
        // biome-ignore lint/a11y/noNoninteractiveTabindex: an application takes the focus; the arrow keys move in it
        tabIndex={0}
        aria-label={`Picture of the disk: ${disk.map.blocks} sectors. Arrow keys move from sector to sector, Enter selects the file.`}
        aria-describedby="disk-spoken"
        onKeyDown={press}
        onPointerLeave={() => setHovered(undefined)}
      >
        {(sides === 2 ? ([0, 1] as const) : ([0] as const)).map((side) => (
          <Side
            key={side}
            disk={disk}
            side={side}
            redraw={redraw}
            chosen={chosen}
            cursor={hovered ?? cursor}
            onHover={setHovered}
            onPick={(block) => {
              onCursor(block);
              onChoose(block);
            }}
          />
        ))}
      </div>
      <p id="disk-spoken" className="sr-only" role="status">
        {spoken}
      </p>
      <SectorTold disk={disk} block={shown} />
      <TrackStrip
        disk={disk}
        block={shown}
        chosen={chosen}
        onPick={(block) => {
          setHovered(undefined);
          onCursor(block);
          onChoose(block);
        }}
      />
      <Legend disk={disk} />
    </section>
  );
}

function Side({
  disk,
  side,
  redraw,
  chosen,
  cursor,
  onHover,
  onPick,
}: {
  disk: Disk;
  side: 0 | 1;
  redraw: number;
  chosen: ReadonlySet<number>;
  cursor: number | undefined;
  onHover: (block: number | undefined) => void;
  onPick: (block: number) => void;
}) {
  const ground = useRef<HTMLCanvasElement>(null);
  const over = useRef<HTMLCanvasElement>(null);

  const prepare = (canvas: HTMLCanvasElement | null) => {
    const pen = canvas?.getContext("2d");
    const parent = canvas?.parentElement;
    if (!canvas || !pen || !parent) return undefined;
    const scale = window.devicePixelRatio || 1;
    const size = Math.round(canvas.clientWidth * scale);
    if (canvas.width !== size) canvas.width = canvas.height = size;
    return { pen, size, scale, inks: inksOf(parent) };
  };
  // biome-ignore lint/correctness/useExhaustiveDependencies: redraw counts changes of size and theme
  useEffect(() => {
    const to = prepare(ground.current);
    if (to) paintSide(to.pen, disk, side, to.size, to.inks, to.scale);
  }, [disk, side, redraw]);
  // biome-ignore lint/correctness/useExhaustiveDependencies: as above
  useEffect(() => {
    const to = prepare(over.current);
    if (to) paintChoice(to.pen, disk, side, to.size, to.inks, to.scale, chosen, cursor);
  }, [disk, side, redraw, chosen, cursor]);

  const under = (event: PointerEvent<HTMLElement>): number | undefined => {
    const box = event.currentTarget.getBoundingClientRect();
    return blockUnder(disk, side, (event.clientX - box.left) / box.width, (event.clientY - box.top) / box.height);
  };
  return (
    <div
      className="disk-side"
      onPointerMove={(event) => onHover(under(event))}
      onPointerDown={(event) => {
        const block = under(event);
        if (block !== undefined) onPick(block);
      }}
    >
      <canvas ref={ground} />
      <canvas ref={over} />
      <span className="disk-side-name">side {side}</span>
    </div>
  );
}

function SectorTold({ disk, block }: { disk: Disk; block: number }) {
  const told = tell(disk, block);
  return (
    <div className="sector" data-testid="sector">
      <p className="sector-block">
        <span className={`swatch is-${told.look}`} aria-hidden="true" /> Block {told.block}
      </p>
      <p>{told.place}</p>
      <p className="sector-owner">{told.owner}</p>
      <p className="quiet">
        {told.size} bytes from {told.offset.toLocaleString("en-GB")} ({hexOf(told.offset, 5)})
      </p>
      {told.damages.map((each) => (
        <p key={each} className="is-bad">
          {each}
        </p>
      ))}
    </div>
  );
}

/** The track of a sector unrolled: what is two pixels wide on the disk can be aimed at here. */
function TrackStrip({
  disk,
  block,
  chosen,
  onPick,
}: {
  disk: Disk;
  block: number;
  chosen: ReadonlySet<number>;
  onPick: (block: number) => void;
}) {
  const { track, side } = disk.map.place(block);
  const { firstSector, firstTrack, sides } = disk.map.geometry;
  const count = sectorsOn(disk.map, track, side);
  return (
    <div className="strip" aria-hidden="true">
      <p>
        Track {track + firstTrack}
        {sides === 2 ? `, side ${side}` : ""}, unrolled
      </p>
      <div className="strip-cells">
        {Array.from({ length: count }, (_, sector) => {
          const each = disk.map.block({ track, side, sector });
          const classes = ["strip-cell", `is-${disk.looks[each] ?? "free"}`];
          if (chosen.has(each)) classes.push("is-chosen");
          if (each === block) classes.push("is-cursor");
          if (disk.damaged.has(each)) classes.push("is-damaged");
          return (
            <span key={each} className={classes.join(" ")} onPointerDown={() => onPick(each)}>
              {sector + firstSector}
            </span>
          );
        })}
      </div>
    </div>
  );
}

function Legend({ disk }: { disk: Disk }) {
  const counts = new Map<Look, number>();
  for (const look of disk.looks) counts.set(look, (counts.get(look) ?? 0) + 1);
  return (
    <div className="legend">
      <ul aria-label="What the colours mean">
        <li>
          <span className="swatch is-chosen" aria-hidden="true" /> the selected file
        </li>
        {ORDER.filter((look) => counts.has(look)).map((look) => (
          <li key={look}>
            <span className={`swatch is-${look}`} aria-hidden="true" /> {LOOK_WORDS[look]}
            <span className="quiet"> {counts.get(look)?.toLocaleString("en-GB")}</span>
          </li>
        ))}
        {disk.damaged.size > 0 && (
          <li>
            <span className="swatch is-mark" aria-hidden="true" /> damage, marked at the rim
          </li>
        )}
      </ul>
      <details>
        <summary>Zones</summary>
        <ul>
          {zonesInWords(disk).map((each) => (
            <li key={each}>{each}</li>
          ))}
        </ul>
      </details>
    </div>
  );
}
