import { cp, mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { openWorkbench } from "@rouse/node/server";
import { openJob } from "@rouse/node/store";
import { chromium } from "playwright-core";
import { atMost, type Measured } from "./types.ts";

/**
 * How long after its address is opened the run book on a phone can be used: the first step is drawn and the page answers. A phone
 * of 390 × 780 points, a processor slowed 4 times, 1.6 Mbit/s down, 0.75 up, 150 ms to every answer (common practice for a slow
 * mobile network, no source). Needs the built page and a Chromium. Beside the clock, which on a busy computer also counts what others
 * do, stands what the page itself needs: two round trips, its bytes at that rate, and four times its processor time.
 */

const RUNS = 10;
const NETWORK = { offline: false, latency: 150, downloadThroughput: 1.6e6 / 8, uploadThroughput: 0.75e6 / 8 };
const SLOWER = 4;

/** Notes in the page when the tick of the first step is there and the page has nothing else to do first. */
const NOTE = `new MutationObserver((_, watching) => {
  if (!document.querySelector(".phone-bar .tick-form button[type=submit]")) return;
  watching.disconnect();
  requestAnimationFrame(() => setTimeout(() => { window.usable = performance.now(); }));
}).observe(document, { childList: true, subtree: true });`;

const BYTES = `[...performance.getEntriesByType("navigation"), ...performance.getEntriesByType("resource")]
  .reduce((sum, each) => sum + each.transferSize, 0)`;

export async function run(): Promise<readonly Measured[]> {
  const folder = await mkdtemp(join(tmpdir(), "rouse-phone-speed-"));
  await cp("demo/mended", folder, { recursive: true });
  const bench = await openWorkbench(await openJob(folder), {
    port: 0,
    webRoot: join(process.cwd(), "packages/web/dist"),
    tellFault: (_, error) => console.error(error),
    phones: { networks: () => [{ address: "127.0.0.1", prefix: 8 }], port: 0 },
  });
  const browser = await chromium.launch({
    executablePath: "/usr/bin/chromium",
    args: ["--no-sandbox", "--disable-gpu"],
  });
  try {
    const { open } = await bench.phones.open();
    if (!open?.code) throw new Error("no phone is let in");
    const phone = await browser.newContext({ viewport: { width: 390, height: 780 }, isMobile: true, hasTouch: true });
    const pairing = await phone.newPage();
    await pairing.goto(open.address);
    await pairing.getByLabel("Code of six digits").fill(open.code.code);
    await pairing.getByRole("button", { name: "Pair" }).click();
    await pairing.locator(".phone-bar").waitFor();
    await pairing.close();
    const [times, needs]: [number[], number[]] = [[], []];
    for (let run = 0; run < RUNS; run++) {
      const page = await phone.newPage();
      const devtools = await phone.newCDPSession(page);
      await devtools.send("Network.enable");
      await devtools.send("Network.emulateNetworkConditions", NETWORK);
      // Every other run counts processor time, which slowing would spoil.
      const counts = run % 2 === 1;
      if (counts) await devtools.send("Performance.enable", { timeDomain: "threadTicks" });
      else await devtools.send("Emulation.setCPUThrottlingRate", { rate: SLOWER });
      await page.addInitScript(NOTE);
      await page.goto(open.address, { waitUntil: "commit" });
      while ((await page.evaluate("window.usable")) === undefined) await page.waitForTimeout(50);
      const { metrics } = await devtools.send("Performance.getMetrics");
      const busy = metrics.find(({ name }) => name === "TaskDuration")?.value ?? Number.NaN;
      const bytes = (await page.evaluate(BYTES)) as number;
      if (counts) needs.push(2 * NETWORK.latency + (bytes / NETWORK.downloadThroughput) * 1000 + busy * 1000 * SLOWER);
      else times.push((await page.evaluate("window.usable")) as number);
      await page.close();
    }
    const median = (of: number[]): number => of.sort((a, b) => a - b)[of.length >> 1]!;
    return [
      atMost("run book on a slow phone, from its address to the first tick", median(times), 1000, "ms"),
      atMost("the same by round trips, bytes and processor time", median(needs), 1000, "ms"),
    ];
  } finally {
    await browser.close();
    await bench.close();
    await rm(folder, { recursive: true, force: true });
  }
}
