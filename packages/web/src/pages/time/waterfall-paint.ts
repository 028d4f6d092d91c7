import { faceOf, readInks, roundPlaces } from "../../parts/canvas.ts";
import { inSeconds } from "../../parts/seconds.ts";
import type { Stretch } from "../../parts/use-stretch.ts";
import { lastBefore, type WaterfallLane, type WaterfallSpan } from "./waterfall-model.ts";

/** Height of a lane, and room for the axis below and the names at the left, in pixels. */
export const ROW = 34;
export const AXIS = 26;
export const LABELS = 58;
const BAR = 22;

const paintsOf = (element: HTMLElement) => ({
  inks: readInks(element, {
    part: "--lane-part",
    motor: "--lane-motor",
    arm: "--lane-arm",
    head: "--lane-arm",
    disk: "--lane-disk",
    bus: "--lane-bus",
    CPU: "--lane-cpu",
    line: "--lane-line",
    ink: "--ink",
    muted: "--muted",
    rule: "--line",
    sheet: "--sheet",
  }),
  face: faceOf(element, "--humanist"),
});

interface Sheet extends ReturnType<typeof paintsOf> {
  pen: CanvasRenderingContext2D;
  width: number;
  view: Stretch;
  x(time: number): number;
}

export function paintWaterfall(
  pen: CanvasRenderingContext2D,
  width: number,
  lanes: readonly WaterfallLane[],
  view: Stretch,
  chosen: { lane: number; span: number },
  parent: HTMLElement,
): void {
  const x = (time: number): number => LABELS + ((time - view.from) / view.span) * (width - LABELS);
  const sheet: Sheet = { ...paintsOf(parent), pen, width, view, x };
  pen.textBaseline = "middle";
  pen.lineWidth = 1;
  paintAxis(sheet, lanes.length * ROW);
  lanes.forEach((lane, row) => {
    paintLane(sheet, lane, row);
    const mine = chosen.lane === row ? lane.spans[chosen.span] : undefined;
    if (mine) paintChoice(sheet, mine, row);
  });
}

function paintAxis({ pen, width, view, x, inks, face }: Sheet, bottom: number): void {
  pen.font = `12px ${face}`;
  pen.textAlign = "center";
  pen.strokeStyle = inks.rule;
  pen.fillStyle = inks.muted;
  for (const place of roundPlaces(view.from, view.from + view.span, Math.max(2, (width - LABELS) / 100))) {
    const at = x(place);
    pen.beginPath();
    pen.moveTo(at, 0);
    pen.lineTo(at, bottom + 4);
    pen.stroke();
    const label = inSeconds(place);
    pen.fillText(label, Math.min(width - pen.measureText(label).width / 2, at), bottom + 15);
  }
}

function paintLane({ pen, width, view, x, inks, face }: Sheet, { name, spans }: WaterfallLane, row: number): void {
  const top = row * ROW + (ROW - BAR) / 2;
  pen.textAlign = "left";
  pen.font = `600 13px ${face}`;
  pen.fillStyle = inks.ink;
  pen.fillText(name, 0, top + BAR / 2);
  pen.font = `12px ${face}`;
  const ink = inks[name as keyof typeof inks] ?? inks.muted;
  let drawnTo = Number.NEGATIVE_INFINITY;
  for (let k = Math.max(0, lastBefore(spans, view.from)); k < spans.length; k++) {
    const each = spans[k]!;
    if (each.start > view.from + view.span) break;
    const left = Math.max(LABELS, x(each.start));
    const right = Math.min(width, x(each.start + each.length));
    // Of thousands of spans that fall on one pixel, one is drawn.
    if (right < LABELS || right <= drawnTo) continue;
    const wide = Math.max(0.7, right - left);
    drawnTo = left + wide - 0.2;
    // Waiting is drawn low and pale: it is time in which nothing is gained.
    const isWait = each.name === "wait" || each.name === "settle";
    pen.fillStyle = ink;
    pen.globalAlpha = isWait ? 0.5 : 1;
    pen.fillRect(left, isWait ? top + BAR * 0.65 : top, wide, isWait ? BAR * 0.35 : BAR);
    pen.globalAlpha = 1;
    if (wide > 6 && !isWait) {
      pen.strokeStyle = inks.sheet;
      pen.strokeRect(left + 0.5, top + 0.5, wide - 1, BAR - 1);
    }
    const label = isWait || wide < 34 ? "" : cut(pen, each.name, wide - 10);
    if (label) {
      pen.fillStyle = inks.sheet;
      pen.fillText(label, left + 5, top + BAR / 2 + 0.5);
    }
  }
}

function paintChoice({ pen, width, x, inks }: Sheet, span: WaterfallSpan, row: number): void {
  const top = row * ROW + (ROW - BAR) / 2;
  const left = Math.max(LABELS - 1, x(span.start) - 1.5);
  const right = Math.min(width - 1, x(span.start + span.length) + 1.5);
  if (right < LABELS || left > width) return;
  pen.strokeStyle = inks.ink;
  pen.lineWidth = 2.5;
  pen.strokeRect(left, top - 2.5, Math.max(4, right - left), BAR + 5);
  pen.lineWidth = 1;
}

/** A name cut to the room there is; empty where three letters don't fit. */
function cut(pen: CanvasRenderingContext2D, name: string, room: number): string {
  if (pen.measureText(name).width <= room) return name;
  for (let length = name.length - 1; length >= 3; length--) {
    const shorter = `${name.slice(0, length)}…`;
    if (pen.measureText(shorter).width <= room) return shorter;
  }
  return "";
}
