import { type KeyboardEvent, type PointerEvent, useEffect, useRef, useState } from "react";
import { prepareCanvas } from "../../parts/canvas.ts";
import { onKeys } from "../../parts/on-keys.ts";
import { useRedraw } from "../../parts/use-redraw.ts";
import { useStretch } from "../../parts/use-stretch.ts";
import { ZoomButtons } from "../../parts/zoom-buttons.tsx";
import { FIELD_LOOKS, fieldAt, isGroup, type Track, tellCell } from "./track-model.ts";
import { CELLS_FROM, cellUnder, paintRing, paintStrip, paintsOf } from "./track-paint.ts";

/** Cells at the nearest view. */
const LEAST = 24;
/** Pixels of a cell where the button brings one to the cells. */
const CELL = 15;
/** Movement beyond which a press is a drag, in pixels. */
const DRAG = 4;

/** A track as a ring and, below it, straightened and zoomable down to its bit cells; keys go from field to field. */
export function TrackPicture({ track }: { track: Track }) {
  const place = useRef<HTMLDivElement>(null);
  const ring = useRef<HTMLCanvasElement>(null);
  const strip = useRef<HTMLCanvasElement>(null);
  const redraw = useRedraw(place);
  const view = useStretch(track.form.cells, LEAST);
  const [cursor, setCursor] = useState(0);
  const [spoken, setSpoken] = useState("");
  const drag = useRef<{ x: number; from: number; moved: boolean } | undefined>(undefined);
  const { from, span } = view;
  const told = tellCell(track, cursor);

  // biome-ignore lint/correctness/useExhaustiveDependencies: redraw counts changes of size and theme
  useEffect(() => {
    if (!place.current) return;
    const paints = paintsOf(place.current);
    const to = prepareCanvas(strip.current);
    if (to) paintStrip(to.pen, track, { from, span }, cursor, to.width, paints);
    const round = prepareCanvas(ring.current);
    if (round) paintRing(round.pen, track, { from, span }, cursor, round.width, paints);
  }, [track, from, span, cursor, redraw]);

  const width = (): number => strip.current?.clientWidth || 1;
  const isNear = (): boolean => width() / span >= CELLS_FROM;
  const go = (cell: number, end = cell + 1): void => {
    const kept = Math.min(track.form.cells - 1, Math.max(0, cell));
    setCursor(kept);
    view.show(kept, Math.min(track.form.cells, Math.max(kept + 1, Math.min(end, kept + span * 0.8))));
    const next = tellCell(track, kept);
    setSpoken(isNear() ? `${next.title}. ${next.cell}.` : `${next.title}, ${next.place}, ${next.size}.`);
  };
  const goField = (index: number): void => {
    const field = track.fields[Math.min(track.fields.length - 1, Math.max(0, index))]!;
    go(field.start, field.start + field.length);
  };
  const goSector = (way: 1 | -1): void => {
    const starts = track.fields.filter(({ kind }) => kind === "ID mark").map(({ start }) => start);
    const next = way > 0 ? starts.find((start) => start > cursor) : starts.findLast((start) => start < cursor);
    if (next !== undefined) go(next);
  };
  const press = (event: KeyboardEvent): void => {
    const field = fieldAt(track.fields, cursor);
    const step = (way: 1 | -1): void => (isNear() && !event.ctrlKey ? go(cursor + way) : goField(field + way));
    onKeys(event, [
      ["ArrowRight", () => step(1)],
      ["ArrowLeft", () => step(-1)],
      ["ArrowUp", () => view.zoom(0.5, cursor + 0.5)],
      ["ArrowDown", () => view.zoom(2, cursor + 0.5)],
      ["+", () => view.zoom(0.5, cursor + 0.5)],
      ["-", () => view.zoom(2, cursor + 0.5)],
      ["0", () => view.reset()],
      ["PageDown", () => goSector(1)],
      ["PageUp", () => goSector(-1)],
      ["Home", () => goField(0)],
      ["End", () => goField(track.fields.length - 1)],
    ]);
  };

  const onRing = (event: PointerEvent<HTMLElement>): void => {
    const box = event.currentTarget.getBoundingClientRect();
    const cell = cellUnder(track, (event.clientX - box.left) / box.width, (event.clientY - box.top) / box.height);
    setCursor(cell);
    if (!view.isWhole) view.set({ from: cell - span / 2, span });
  };
  const onMove = (event: PointerEvent<HTMLElement>): void => {
    const begun = drag.current;
    if (!begun) return;
    const by = event.clientX - begun.x;
    if (Math.abs(by) > DRAG) begun.moved = true;
    if (begun.moved) view.set({ from: begun.from - (by / width()) * span, span });
  };
  const onUp = (event: PointerEvent<HTMLElement>): void => {
    const box = event.currentTarget.getBoundingClientRect();
    const cell = Math.floor(from + ((event.clientX - box.left) / box.width) * span);
    if (drag.current && !drag.current.moved) setCursor(Math.min(track.form.cells - 1, Math.max(0, cell)));
    drag.current = undefined;
  };

  return (
    <div className="track" ref={place}>
      <div className="track-top">
        <div
          className="track-ring"
          role="presentation"
          onPointerDown={onRing}
          onPointerMove={(event) => event.buttons === 1 && onRing(event)}
        >
          <canvas ref={ring} />
        </div>
        <div className="track-told">
          <div data-testid="track-told">
            <p className="track-title">{told.title}</p>
            <p>{told.place}</p>
            <p>{told.size}</p>
            <p className="quiet">{told.cell}</p>
          </div>
          <ZoomButtons
            view={view}
            at={cursor + 0.5}
            nearest={{ span: Math.max(LEAST, Math.floor(width() / CELL)), name: "Bit cells" }}
          />
          <Legend track={track} />
        </div>
      </div>
      <div
        className="track-strip"
        role="application"
        // biome-ignore lint/a11y/noNoninteractiveTabindex: an application takes the focus; the arrow keys move in it
        tabIndex={0}
        aria-label="The track straightened. Left and right go from field to field, or from cell to cell when near; up and down zoom; Page Up and Page Down go from sector to sector."
        aria-describedby="track-spoken"
        onKeyDown={press}
        onPointerDown={(event) => {
          drag.current = { x: event.clientX, from, moved: false };
          event.currentTarget.setPointerCapture(event.pointerId);
        }}
        onPointerMove={onMove}
        onPointerUp={onUp}
        onPointerCancel={() => {
          drag.current = undefined;
        }}
      >
        <canvas ref={strip} />
      </div>
      <p id="track-spoken" className="sr-only" role="status">
        {spoken}
      </p>
    </div>
  );
}

function Legend({ track }: { track: Track }) {
  const entry = (look: string, name: string) => (
    <li key={look}>
      <span className={`swatch ${look}`} aria-hidden="true" />
      {name}
    </li>
  );
  return (
    <ul className="track-legend" aria-label="What the colours mean">
      {FIELD_LOOKS.map(([look, name]) => entry(`field-${look}`, name))}
      {!isGroup(track.form) && [
        entry("cell-bit", "data cell, tall"),
        entry("cell-clock", "clock cell, low"),
        entry("cell-odd", "clock left out"),
      ]}
    </ul>
  );
}
