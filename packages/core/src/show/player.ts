/** The program of the page that plays a session. Plain ECMAScript for browsers of any age; it holds no `<`. */
export const PLAYER = `(() => {
"use strict";
const data = JSON.parse(document.getElementById("session").textContent);
const byId = (id) => document.getElementById(id);
const screen = byId("screen"), play = byId("play"), place = byId("place"), time = byId("time");
const rows = Array.from({ length: data.rows }, () => { const row = document.createElement("div"); row.textContent = "\\u00a0"; screen.append(row); return row; });
screen.style.minWidth = "0";
const content = rows.map(() => []);
let cursor = [0, 0], done = 0, at = 0, playing = false, last = 0, times = [];
const pace = () => {
  const speed = Number(byId("speed").value), longest = byId("wait").value === "" ? Infinity : Number(byId("wait").value);
  let before = 0, now = 0;
  times = data.frames.map(([t]) => { now += Math.min(Math.max(0, t - before), longest) / speed; before = t; return now; });
};
const length = () => times.length > 0 ? times[times.length - 1] : 0;
const draw = (index) => {
  const row = rows[index];
  row.textContent = "";
  let column = 0;
  for (const [text, rendition] of content[index]) {
    const span = document.createElement("span");
    span.textContent = text;
    for (const bit of [1, 2, 4, 8, 32, 64, 128]) if (rendition & bit) span.classList.add("r" + bit);
    row.append(span);
    column += text.length;
  }
  if (cursor[0] === index) {
    const whole = row.textContent.padEnd(cursor[1] + 1);
    if (whole.length > column) { row.append(" ".repeat(whole.length - column - 1)); const mark = document.createElement("span"); mark.className = "cursor"; mark.textContent = " "; row.append(mark); }
  } else if (column === 0) row.textContent = "\\u00a0";
};
const show = (to) => {
  at = Math.max(0, Math.min(to, length()));
  const changed = new Set([cursor[0]]);
  if (done > 0 && times[done - 1] > at) { done = 0; cursor = [0, 0]; content.forEach((_, index) => { content[index] = []; changed.add(index); }); }
  while (data.frames.length > done && at >= times[done]) {
    const [, up, runs, place] = data.frames[done];
    for (let left = up; left > 0; left--) { content.shift(); content.push([]); }
    if (up > 0) rows.forEach((_, index) => changed.add(index));
    for (const [index, row] of runs) { content[index] = row; changed.add(index); }
    cursor = place;
    done++;
  }
  changed.add(cursor[0]);
  for (const index of changed) draw(index);
  const seconds = Math.floor(at);
  time.textContent = Math.floor(seconds / 60) + ":" + String(seconds % 60).padStart(2, "0");
  place.value = String(length() > 0 ? Math.round(at / length() * Number(place.max)) : 0);
};
const stop = () => { playing = false; play.textContent = "Play"; };
const step = (now) => {
  if (!playing) return;
  show(at + (now - last) / 1000);
  last = now;
  if (at >= length()) stop(); else requestAnimationFrame(step);
};
const toggle = () => {
  if (playing) return stop();
  if (at >= length()) show(0);
  playing = true; play.textContent = "Pause"; last = performance.now();
  requestAnimationFrame(step);
};
play.addEventListener("click", toggle);
place.addEventListener("input", () => show(Number(place.value) / Number(place.max) * length()));
for (const id of ["speed", "wait"]) byId(id).addEventListener("change", () => {
  const frames = done;
  pace();
  show(frames > 0 ? times[frames - 1] : 0);
});
pace();
show(0);
})();`;
