import { escapeHtml } from "../bytes/index.ts";
import type { Ability } from "../terminal/index.ts";
import type { Capture } from "./capture.ts";
import { printStretch } from "./clock/index.ts";
import { PLAYER } from "./player.ts";
import { framesOf, type Pace, pacedTimes, sessionText } from "./replay.ts";

const STYLE = `:root{color-scheme:light}body{font:16px/1.5 Georgia,"Times New Roman",serif;color:#1b1a17;background:#f5f2ea;margin:0 auto;max-width:64rem;padding:1rem}
h1{font-size:1.5rem;margin:.2rem 0}#screen{font:clamp(8px,1.6vw,17px)/1.3 ui-monospace,Consolas,monospace;background:#14181a;color:#d9e6d2;padding:1em;border-radius:.5em;overflow:auto;margin:.6rem 0;white-space:pre}
.r1{font-weight:bold}.r2{opacity:.6}.r4{font-style:italic}.r8{text-decoration:underline}.r32{background:#d9e6d2;color:#14181a}.r64{visibility:hidden}.r128{text-decoration:line-through}.cursor{outline:1px solid #d9e6d2}
form{display:flex;flex-wrap:wrap;gap:.6rem 1rem;align-items:center}button,select{font:inherit;min-height:2.75rem;padding:.2rem .9rem}input[type=range]{flex:1 1 14rem;min-height:2.75rem}output{font-variant-numeric:tabular-nums}
:focus-visible{outline:3px solid #1d5c8c;outline-offset:2px}@media print{form{display:none}#screen{background:none;color:#000;border:1px solid #000}}`;

/** JSON inside a script element: nothing in it can end the element. */
const inScript = (value: unknown): string =>
  JSON.stringify(value).replaceAll("<", "\\u003c").replaceAll("\u2028", "\\u2028").replaceAll("\u2029", "\\u2029");

/** A session as one page that plays it: no other file, nothing fetched. `pace` is how it plays unless the reader chooses. */
export function sessionHtml(capture: Capture, ability: Ability, options: { title: string; pace?: Pace }): string {
  const frames = framesOf(capture, ability);
  const times = pacedTimes(
    frames.map((each) => each.t),
    {},
  );
  const { speed = 1, longestWait } = options.pace ?? {};
  const data = {
    rows: ability.rows,
    columns: ability.columns,
    speed,
    longestWait: longestWait ?? null,
    frames: frames.map(({ up, rows, cursor }, index) => [Math.round(times[index]! * 1000) / 1000, up, rows, cursor]),
  };
  const title = escapeHtml(options.title);
  const { started, rate, frame } = capture.head;
  const speeds = [...new Set([1, 2, 4, 8, 16, speed])].sort((a, b) => a - b);
  const waits = [...new Set([1, 2, 5, longestWait ?? 1])].sort((a, b) => a - b);
  const option = (value: string, text: string, on: boolean) =>
    `<option value="${value}"${on ? " selected" : ""}>${text}</option>`;
  return `<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width,initial-scale=1"><meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'"><title>${title}</title><style>${STYLE}</style></head><body>
<h1>${title}</h1><p>A session of ${escapeHtml(started.slice(0, 10))}, ${escapeHtml(String(rate))} bit/s, ${escapeHtml(frame)}, ${printStretch(times.at(-1) ?? 0)} long.</p>
<div id="screen" role="img" aria-label="The terminal's screen; its text is below"></div>
<form><button type="button" id="play">Play</button><label>Place <input type="range" id="place" min="0" max="1000" value="0" step="1"></label><output id="time">0:00</output>
<label>Speed <select id="speed">${speeds.map((each) => option(String(each), `${each} ×`, each === speed)).join("")}</select></label>
<label>Longest wait <select id="wait">${option("", "as it was", longestWait === undefined)}${waits.map((each) => option(String(each), `${each} s`, each === longestWait)).join("")}</select></label></form>
<details><summary>All of it as text</summary><pre>${escapeHtml(sessionText(capture, ability))}</pre></details>
<script type="application/json" id="session">${inScript(data)}</script>
<script>${PLAYER}</script></body></html>\n`;
}
