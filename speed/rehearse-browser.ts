import { readdirSync, readFileSync } from "node:fs";
import type { Page } from "playwright-core";
import { serveJob, startBrowser, visit } from "../packages/web/browser/workbench.ts";
import type { Measured } from "./types.ts";

/**
 * The page Rehearse in Chromium, as fast as it goes: seconds of the machine a second of user time of the worker's thread (Linux
 * tells it in hundredths of a second), so that other work on this computer changes little. Needs the built page.
 */

const RUNS = 5;
const TICKS = 100;
const THREAD = "DedicatedWorker";

const fieldsOf = (path: string): string[] => {
  const text = readFileSync(path, "utf8");
  return text.slice(text.lastIndexOf(")") + 2).split(" ");
};

/** User time, in seconds, of the workers' threads below this process: of all that run now. */
function workerSeconds(): number {
  const parents = new Map<number, number>();
  for (const pid of readdirSync("/proc").filter((each) => /^\d+$/.test(each)))
    try {
      parents.set(Number(pid), Number(fieldsOf(`/proc/${pid}/stat`)[1]));
    } catch {
      // It ended meanwhile.
    }
  const isOurs = (pid: number): boolean => pid === process.pid || (parents.has(pid) && isOurs(parents.get(pid)!));
  let ticks = 0;
  for (const pid of [...parents.keys()].filter(isOurs))
    try {
      for (const thread of readdirSync(`/proc/${pid}/task`)) {
        const task = `/proc/${pid}/task/${thread}`;
        if (readFileSync(`${task}/comm`, "utf8").startsWith(THREAD)) ticks += Number(fieldsOf(`${task}/stat`)[11]);
      }
    } catch {
      // It ended meanwhile.
    }
  return ticks / TICKS;
}

const clock = async (page: Page): Promise<number> =>
  Number.parseFloat((await page.getByTestId("clock").textContent()) ?? "");
const shows = (page: Page, text: string) =>
  page.waitForFunction((wanted) => document.querySelector(".screen")?.textContent?.includes(wanted), text, {
    timeout: 120_000,
  });
const paused = (page: Page) => page.locator(".rehearse-why", { hasText: "Paused" }).waitFor();

/** Lets it go until `until`, and gives its speed meanwhile. */
async function stretch(page: Page, until: () => Promise<unknown>): Promise<number> {
  const [from, before] = [await clock(page), workerSeconds()];
  await page.getByRole("button", { name: "Go on" }).click();
  await until();
  await page.getByRole("button", { name: "Pause" }).click();
  await paused(page);
  const took = workerSeconds() - before;
  if (!(took > 0)) throw new Error(`no thread ${THREAD} is to be seen`);
  return ((await clock(page)) - from) / took;
}

/** A page with a machine that stands still soon after power-on, set to go as fast as it can. */
async function onPage<Found>(job: string, run: (page: Page) => Promise<Found>): Promise<Found> {
  const served = await serveJob(job);
  const browser = await startBrowser();
  try {
    const { page } = await visit(browser, served.address);
    await page.evaluate(() => {
      location.hash = "#/rehearse";
    });
    await page.getByRole("button", { name: "Switch it on" }).click({ timeout: 60_000 });
    await page.getByRole("button", { name: "Pause" }).click({ timeout: 60_000 });
    await paused(page);
    await page.getByLabel("As fast as it goes").check();
    return await run(page);
  } finally {
    await browser.close();
    await served.close();
  }
}

/** Runs again and again from where the machine stands. */
async function again(page: Page, until: () => Promise<unknown>): Promise<number[]> {
  await page.getByRole("button", { name: "Keep this moment" }).click();
  const back = page.getByRole("button", { name: /^Back to/ }).last();
  await back.waitFor();
  const begun = await page.getByTestId("clock").textContent();
  const speeds: number[] = [];
  for (let run = 0; run < RUNS; run++) {
    speeds.push(await stretch(page, until));
    await back.click();
    await page.waitForFunction((at) => document.querySelector("[data-testid=clock]")?.textContent === at, begun);
  }
  return speeds;
}

/** Until the machine has run for so many seconds more. */
const passes = async (page: Page, seconds: number): Promise<unknown> =>
  page.waitForFunction(
    (at) => Number.parseFloat(document.querySelector("[data-testid=clock]")?.textContent ?? "") >= at,
    (await clock(page)) + seconds,
    { timeout: 120_000 },
  );

const atLeast = (name: string, value: number): Measured => ({
  name,
  value,
  unit: "× true speed",
  aim: "≥ 20",
  met: value >= 20,
});
const median = (values: readonly number[]): number => [...values].sort((a, b) => a - b)[values.length >> 1]!;

export async function run(): Promise<readonly Measured[]> {
  const first = await onPage("mended", async (page) => {
    // Busy all along: memory tests, then the boot file. Behind the login it would rest, and be faster.
    const boots = await again(page, () => shows(page, "Tern, edition 1"));
    const keyboard = page.getByLabel("Keyboard of stage terminal");
    await page.getByRole("button", { name: "Go on" }).click();
    await shows(page, "login:");
    await keyboard.pressSequentially("visitor\n");
    await shows(page, "tern:");
    await keyboard.pressSequentially("primes 60000\n");
    await shows(page, "2 3 5 7");
    await page.getByRole("button", { name: "Pause" }).click();
    await paused(page);
    return { boots, computes: await again(page, () => passes(page, 30)) };
  });
  const second = await onPage("second-machine", (page) => again(page, () => passes(page, 10)));
  return [
    atLeast("6809 demo on the page, memory tests and boot", median(first.boots)),
    atLeast("the same, the first time", first.boots[0]!),
    atLeast("half a minute of a program that computes and prints", median(first.computes)),
    atLeast("Z80 demo on the page, ten seconds from power-on", median(second)),
  ];
}
