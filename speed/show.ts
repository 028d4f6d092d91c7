import { spawnSync } from "node:child_process";
import { mkdir, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { asciiBytes } from "@rouse/core/bytes";
import { captureHead, captureLine } from "@rouse/core/show";
import type { Page } from "playwright-core";
import { serveJob, startBrowser, visit } from "../packages/web/browser/workbench.ts";
import { atMost, type Measured } from "./types.ts";

/**
 * Sessions of 24 hours on the page Show in Chromium, by the clock: from the choice of the session to its first screen, drawn and
 * ready to play; from a press on the slider, or a key, to the screen of that place, drawn. Each place is sought several times and
 * the best counts, as other work on this computer spoils some. One session is a line every two seconds; the other, which no aim
 * was set for, never rests: 2,400 bit/s all day. Needs the built page.
 */

const HOURS = 24;
const RUNS = 5;
const PLACES = 40;
const ROUNDS = 3;
const ROUSE = "packages/node/bin/rouse.js";

/** Seconds from line to line. */
const [CALM, BUSY] = [2, 1 / 6];

/** Lines of forty characters, each with its number, in the pieces of 24 bytes that 2,400 bit/s brings in 0.1 s. */
function session(apart: number): Buffer {
  const parts = [captureHead({ started: "2026-06-06T10:00:00Z", port: "none", rate: 2400, frame: "7E1" })];
  for (let line = 0; line * apart < HOURS * 3600; line++) {
    const text = `${line % 30 === 0 ? "\u001b[7m" : "\u001b[m"}${line} a tern flies low along the shore`;
    const bytes = asciiBytes(`${text.padEnd(40, ".")}\r\n`);
    for (let at = 0; at < bytes.length; at += 24)
      parts.push(captureLine({ t: line * apart + at / 240, in: bytes.subarray(at, at + 24) }));
  }
  return Buffer.from(parts.join(""), "latin1");
}

/**
 * In the page: `data-took` of the document is the time from the last event of a person until the session's screen, changed by it,
 * was drawn; in ms.
 */
const NOTE = `(() => {
  let begun = 0;
  const begin = ({ type, target, timeStamp }) => {
    if (type !== "change" || target instanceof HTMLSelectElement) begun = timeStamp;
  };
  for (const kind of ["change", "pointerdown", "keydown"]) addEventListener(kind, begin, { capture: true });
  new MutationObserver((changes) => {
    const screen = document.querySelector("[data-testid=player-screen]");
    const isOfScreen = ({ target, addedNodes }) =>
      screen.contains(target) || [...addedNodes].some((each) => each.contains(screen));
    if (begun === 0 || !screen || !changes.some(isOfScreen)) return;
    const since = begun;
    begun = 0;
    requestAnimationFrame(() => setTimeout(() => { document.documentElement.dataset.took = performance.now() - since; }));
  }).observe(document, { childList: true, characterData: true, subtree: true });
})();`;

const median = (values: readonly number[]): number => [...values].sort((a, b) => a - b)[values.length >> 1]!;

/** What the person does, until the screen is drawn; ms. */
async function timed(page: Page, act: () => Promise<unknown>): Promise<number> {
  await page.evaluate(() => delete document.documentElement.dataset.took);
  await act();
  const took = await page.waitForFunction(() => document.documentElement.dataset.took, undefined, { timeout: 60_000 });
  return Number(await took.jsonValue());
}

/** The screen must be that of the time told below it: the last whole line on it is the last that had come by then. */
async function demandPlace(page: Page, apart: number): Promise<void> {
  const [screen, time] = await Promise.all(
    ["player-screen", "player-time"].map(async (id) => (await page.getByTestId(id).textContent()) ?? ""),
  );
  const seconds = /^(?:(\d+):)?(\d+):(\d+)/
    .exec(time!)!
    .slice(1)
    .reduce((sum, each) => sum * 60 + Number(each ?? 0), 0);
  const last = Number(/(\d+) a tern[^\n]*\n*$/.exec(screen!.trimEnd())?.[1]) * apart;
  if (!(Math.abs(last - seconds) <= apart + 1)) throw new Error(`at ${time} the screen shows ${last} s`);
}

/** Seeks all places in an order that leaves none near the one before: by pointer, and every fourth by a key. ms each. */
async function seekAll(page: Page, apart: number): Promise<number[]> {
  const slider = page.getByRole("slider", { name: "Place" });
  const times: number[] = [];
  for (let k = 0; k < PLACES; k++) {
    // Off the thumb, which a press would not move.
    const at = 0.05 + (0.9 * ((k * 23) % PLACES)) / PLACES;
    const { width, height } = (await slider.boundingBox())!;
    const seek = () =>
      k % 4 === 3
        ? slider.press(["End", "PageDown", "ArrowLeft", "Home"][(k >> 2) % 4]!)
        : slider.click({ position: { x: width * at, y: height / 2 } });
    times.push(await timed(page, seek));
    await demandPlace(page, apart);
  }
  return times;
}

/** Chooses a session on a page that was just loaded, and seeks one place at once. */
async function open(page: Page, address: string, file: string): Promise<{ opened: number; first: number }> {
  await page.goto("about:blank");
  await page.goto(address, { waitUntil: "networkidle" });
  const opened = await timed(page, () => page.locator(".sessions-choose select").selectOption(file));
  const play = page.getByRole("button", { name: "Play", exact: true });
  if (!(await play.isEnabled())) throw new Error("it cannot be played");
  return { opened, first: await timed(page, () => page.getByRole("slider", { name: "Place" }).press("End")) };
}

async function measure(page: Page, address: string, file: string, apart: number) {
  const openings = [];
  for (let run = 0; run < RUNS; run++) openings.push(await open(page, address, file));
  const rounds: number[][] = [];
  for (let round = 0; round < ROUNDS; round++) rounds.push(await seekAll(page, apart));
  const places = rounds[0]!.map((_, place) => Math.min(...rounds.map((each) => each[place]!)));
  return {
    opened: openings.map((each) => each.opened),
    first: median(openings.map((each) => each.first)),
    place: median(rounds.flat()),
    slowest: Math.max(...places),
  };
}

/** The whole process of a still from the middle of a session; ms. */
function still(folder: string, file: string): number {
  const times = Array.from({ length: RUNS }, (_, run) => {
    const made = join(folder, `still-${run}.svg`);
    const start = performance.now();
    const args = [ROUSE, "replay", join(folder, "captures", file), "--at", `${HOURS / 2}:00:00`, "--svg", made];
    const { status, stderr } = spawnSync(process.execPath, args, { encoding: "utf8" });
    if (status !== 0) throw new Error(stderr);
    return performance.now() - start;
  });
  return median(times);
}

const told = (name: string, value: number): Measured => ({ name, value, unit: "ms", aim: "none", met: true });

export async function run(): Promise<readonly Measured[]> {
  const [calmFile, busyFile] = ["calm.jsonl", "busy.jsonl"];
  const job = await serveJob("mended", async (folder) => {
    await mkdir(join(folder, "captures"), { recursive: true });
    await writeFile(join(folder, "captures", calmFile), session(CALM));
    await writeFile(join(folder, "captures", busyFile), session(BUSY));
  });
  const browser = await startBrowser();
  try {
    const { page } = await visit(browser, job.address);
    await page.addInitScript(NOTE);
    const address = `${job.address.replace(/#.*/, "")}#/show`;
    const calm = await measure(page, address, calmFile, CALM);
    const busy = await measure(page, address, busyFile, BUSY);
    return [
      atMost(`a session of ${HOURS} hours, from its choice to its first screen`, median(calm.opened), 2000, "ms"),
      atMost("the same, opened for the first time", calm.opened[0]!, 2000, "ms"),
      atMost("a place sought as soon as it is open", calm.first, 100, "ms"),
      atMost("any place sought", calm.place, 100, "ms"),
      atMost(`the slowest of ${PLACES} places`, calm.slowest, 100, "ms"),
      told("a still from its middle by rouse replay, the whole process", still(job.folder, calmFile)),
      told("one that never rested, from its choice to its first screen", median(busy.opened)),
      told("a place in it sought as soon as it is open", busy.first),
      told("any place in it sought", busy.place),
    ];
  } finally {
    await browser.close();
    await job.close();
  }
}
