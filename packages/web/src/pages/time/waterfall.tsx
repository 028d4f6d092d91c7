import { type KeyboardEvent, type PointerEvent, useEffect, useMemo, useRef, useState } from "react";
import { prepareCanvas } from "../../parts/canvas.ts";
import { onKeys } from "../../parts/on-keys.ts";
import { inSeconds } from "../../parts/seconds.ts";
import { useRedraw } from "../../parts/use-redraw.ts";
import { useStretch } from "../../parts/use-stretch.ts";
import { ZoomButtons } from "../../parts/zoom-buttons.tsx";
import type { TimeTold } from "./types.ts";
import { endOf, lanesOf, lastBefore, spanAt } from "./waterfall-model.ts";
import { AXIS, LABELS, paintWaterfall, ROW } from "./waterfall-paint.ts";

/** The shortest stretch that is shown, in seconds: a few cells of the bus. */
const LEAST = 0.002;

interface Choice {
  lane: number;
  span: number;
}

/** What each part of the machine does over time; pointer and keys tell every span. */
export function Waterfall({ told }: { told: TimeTold }) {
  const place = useRef<HTMLDivElement>(null);
  const canvas = useRef<HTMLCanvasElement>(null);
  const redraw = useRedraw(place);
  const lanes = useMemo(() => lanesOf(told.answer, told.spans), [told]);
  const view = useStretch(
    useMemo(() => endOf(lanes), [lanes]),
    LEAST,
  );
  const [chosen, setChosen] = useState<Choice>({ lane: 0, span: 0 });
  const [hovered, setHovered] = useState<Choice | undefined>();
  const [spoken, setSpoken] = useState("");
  const { from, span } = view;
  const wished = hovered ?? chosen;
  const lane = lanes[Math.min(wished.lane, lanes.length - 1)];
  const index = Math.min(wished.span, (lane?.spans.length ?? 1) - 1);
  const found = lane?.spans[index];

  // biome-ignore lint/correctness/useExhaustiveDependencies: redraw counts changes of size and theme
  useEffect(() => {
    const to = prepareCanvas(canvas.current);
    if (!to || !place.current) return;
    paintWaterfall(to.pen, to.width, lanes, { from, span }, { lane: wished.lane, span: index }, place.current);
  }, [lanes, from, span, wished.lane, index, redraw]);

  const room = (): number => Math.max(1, (canvas.current?.clientWidth ?? 1) - LABELS);
  const choose = (to: Choice): void => {
    const row = lanes[to.lane];
    const each = row?.spans[to.span];
    if (!row || !each) return;
    setHovered(undefined);
    setChosen(to);
    view.show(each.start, Math.min(each.start + each.length, each.start + span * 0.8));
    setSpoken(`${row.name}: ${each.name}, from ${inSeconds(each.start)}, for ${inSeconds(each.length)}.`);
  };
  const press = (event: KeyboardEvent): void => {
    const spans = lanes[chosen.lane]?.spans ?? [];
    const now = spans[chosen.span];
    const middle = now ? now.start + now.length / 2 : from + span / 2;
    const along = (to: number): void =>
      choose({ lane: chosen.lane, span: Math.min(spans.length - 1, Math.max(0, to)) });
    const across = (way: 1 | -1): void => {
      const next = chosen.lane + way;
      const row = lanes[next];
      if (row) choose({ lane: next, span: Math.max(0, lastBefore(row.spans, middle)) });
    };
    onKeys(event, [
      ["ArrowRight", () => along(chosen.span + 1)],
      ["ArrowLeft", () => along(chosen.span - 1)],
      ["ArrowDown", () => across(1)],
      ["ArrowUp", () => across(-1)],
      ["Home", () => along(0)],
      ["End", () => along(spans.length - 1)],
      ["+", () => view.zoom(0.5, middle)],
      ["-", () => view.zoom(2, middle)],
      ["0", () => view.reset()],
    ]);
  };
  const under = (event: PointerEvent<HTMLElement>): Choice | undefined => {
    const box = event.currentTarget.getBoundingClientRect();
    const row = Math.floor((event.clientY - box.top) / ROW);
    const time = from + ((event.clientX - box.left - LABELS) / room()) * span;
    const at = spanAt(lanes[row]?.spans ?? [], time, (4 / room()) * span);
    return at < 0 ? undefined : { lane: row, span: at };
  };

  return (
    <div className="waterfall" ref={place}>
      <div className="waterfall-told">
        <div data-testid="span-told">
          {lane && found ? (
            <>
              <p className="waterfall-name">
                {lane.name}: {found.name}
              </p>
              <p className="quiet">
                {inSeconds(found.length)}, from {inSeconds(found.start)} to {inSeconds(found.start + found.length)}
              </p>
            </>
          ) : (
            <p className="quiet">Nothing takes time here.</p>
          )}
        </div>
        <ZoomButtons view={view} at={found ? found.start + found.length / 2 : from + span / 2} />
      </div>
      <div
        className="waterfall-canvas"
        role="application"
        // biome-ignore lint/a11y/noNoninteractiveTabindex: an application takes the focus; the arrow keys move in it
        tabIndex={0}
        aria-label="Waterfall. Left and right go from span to span, up and down from lane to lane, plus and minus zoom."
        aria-describedby="waterfall-spoken"
        onKeyDown={press}
        onPointerMove={(event) => setHovered(under(event))}
        onPointerLeave={() => setHovered(undefined)}
        onPointerDown={(event) => {
          const at = under(event);
          if (at) choose(at);
        }}
      >
        <canvas ref={canvas} style={{ height: lanes.length * ROW + AXIS }} />
      </div>
      <p id="waterfall-spoken" className="sr-only" role="status">
        {spoken}
      </p>
    </div>
  );
}
