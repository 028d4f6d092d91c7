import { mkdir, readFile, rm, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { AxeBuilder } from "@axe-core/playwright";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { demoImages } from "../../../demo/images.ts";
import { type OpenedWorkbench, serveJob, startBrowser, visit } from "./workbench.ts";

let browser: Browser;
let job: OpenedWorkbench;

/** The demo's images are made, never kept: the copy of a job gets them anew. */
const withImages =
  (name: string) =>
  async (folder: string): Promise<void> => {
    await mkdir(join(folder, "images"), { recursive: true });
    for (const [path, bytes] of demoImages("demo"))
      if (path.startsWith(`${name}/`)) await writeFile(join(folder, path.slice(name.length + 1)), bytes);
  };

beforeAll(async () => {
  [browser, job] = await Promise.all([startBrowser(), serveJob("mended", withImages("mended"))]);
});
afterAll(async () => {
  await browser?.close();
  await job?.close();
});

/** Runs with a page of its own, which must have asked no other host and complained of nothing. */
async function onPage(
  run: (page: Page) => Promise<void>,
  options: Parameters<typeof visit>[2] = {},
  { at = job, complaints = [] }: { at?: OpenedWorkbench; complaints?: readonly RegExp[] } = {},
): Promise<void> {
  const opened = await visit(browser, at.address, { viewport: { width: 1440, height: 900 }, ...options });
  try {
    await opened.page.evaluate(() => {
      location.hash = "#/rehearse";
    });
    await run(opened.page);
    expect([...opened.hosts]).toEqual([new URL(at.address).host]);
    expect(opened.complaints.filter((each) => !complaints.some((known) => known.test(each)))).toEqual([]);
  } finally {
    await opened.context.close();
  }
}

const told = async (page: Page, id: string): Promise<string> => (await page.getByTestId(id).textContent()) ?? "";
const clock = async (page: Page): Promise<number> => Number.parseFloat(await told(page, "clock"));
const STAGE = "stage terminal";
const VISITORS = "visitors' terminal";

/** Waits until a terminal shows a text. */
const shows = (page: Page, terminal: string, text: string): Promise<unknown> =>
  page.waitForFunction(
    ([id, wanted]) => document.querySelector(`[data-testid="${id}"]`)?.textContent?.includes(wanted as string),
    [`screen ${terminal}`, text] as const,
    { timeout: 90_000 },
  );

async function switchOn(page: Page): Promise<void> {
  await page.getByRole("button", { name: "Switch it on" }).click();
  await page.getByTestId("clock").waitFor({ timeout: 60_000 });
}
const asFastAsItGoes = (page: Page): Promise<void> => page.getByLabel("As fast as it goes").check();
const press = (page: Page, name: string): Promise<void> => page.getByRole("button", { name, exact: true }).click();
const paused = (page: Page, why = "Paused"): Promise<void> => page.locator(".rehearse-why", { hasText: why }).waitFor();

describe("the rehearsal", () => {
  it("comes to a login on a screen of its true size, takes what is typed, and returns to a kept moment", async () => {
    await onPage(async (page) => {
      await switchOn(page);
      const began = await clock(page);
      await page.waitForFunction(
        (from) => Number.parseFloat(document.querySelector("[data-testid=clock]")!.textContent!) > from + 0.5,
        began,
      );
      await asFastAsItGoes(page);
      await shows(page, STAGE, "login:");
      const screen = page.getByTestId(`screen ${STAGE}`).locator(".screen-row");
      expect(await screen.count()).toBe(24);
      const wide = await page.evaluate(() => {
        const screen = document.querySelector(".screen")!;
        const probe = document.createElement("span");
        probe.textContent = "0".repeat(40);
        screen.append(probe);
        const both = [screen.getBoundingClientRect().width, probe.getBoundingClientRect().width];
        probe.remove();
        return both;
      });
      expect(wide[1]).toBeLessThanOrEqual(wide[0]! + 1);
      expect(wide[1]).toBeGreaterThan(wide[0]! * 0.97);
      await press(page, "Pause");
      await paused(page);
      const at = await told(page, "clock");
      await press(page, "Keep this moment");
      await page.getByRole("button", { name: /^Back to/ }).waitFor();
      await press(page, "Go on");
      await page.getByLabel(`Keyboard of ${STAGE}`).focus();
      await page.keyboard.type("visitor");
      await page.keyboard.press("Enter");
      await shows(page, STAGE, "tern:");
      await press(page, "Pause");
      await paused(page);
      await page.getByRole("button", { name: /^Back to/ }).click();
      await page.waitForFunction((was) => document.querySelector("[data-testid=clock]")?.textContent === was, at);
      expect(await page.getByTestId(`screen ${STAGE}`).textContent()).not.toContain("tern:");
      expect(await page.locator(".drive").getAttribute("class")).toBe("drive");
      expect(await page.locator(".drive svg").getAttribute("aria-label")).toMatch(
        /^disk drive: head on track \d+, side 1; last read or written: track \d+, side 1, sector \d+$/,
      );
    });
  });

  it("lets one compute while another types, and shows whose memory the CPU sees", async () => {
    await onPage(async (page) => {
      await switchOn(page);
      await page.getByTestId("latches").waitFor();
      expect(await told(page, "latches")).toMatch(/translationoff/);
      await asFastAsItGoes(page);
      await shows(page, STAGE, "login:");
      await shows(page, VISITORS, "login:");
      const type = async (terminal: string, text: string): Promise<void> => {
        await page.getByTestId(`screen ${terminal}`).click();
        await page.keyboard.type(text);
        await page.keyboard.press("Enter");
      };
      await type(STAGE, "visitor");
      await shows(page, STAGE, "tern:");
      await type(STAGE, "primes 60000 &");
      await type(VISITORS, "keeper");
      await shows(page, VISITORS, "password:");
      await type(VISITORS, "sandpiper");
      await shows(page, VISITORS, "tern:");
      await type(VISITORS, "processes");
      await shows(page, VISITORS, "primes");
      expect(await told(page, "latches")).toMatch(/translationon, map [01] of 2/);
      // What every process sees of the system, and a block of its own behind 8000.
      expect(await page.locator(".map-blocks li").allTextContents()).toEqual(
        expect.arrayContaining(["00", "77", expect.stringMatching(/^8(8|9|1\d|2\d)$/)]),
      );
      expect(await page.locator(".map-ram").count()).toBeGreaterThan(10);
    });
  });

  it("steps, stops before a breakpoint, and shows registers, code and memory, by keys alone", async () => {
    await onPage(async (page) => {
      await page.getByRole("button", { name: "Switch it on" }).focus();
      await page.keyboard.press("Enter");
      await page.getByTestId("clock").waitFor({ timeout: 60_000 });
      await page.getByRole("button", { name: "Pause" }).focus();
      await page.keyboard.press("Enter");
      await paused(page);
      const next = page.locator(".code .is-next");
      const before = await next.textContent();
      await page.getByRole("button", { name: "Step" }).focus();
      await page.keyboard.press("Enter");
      await page.waitForFunction((was) => document.querySelector(".code .is-next")?.textContent !== was, before);
      // It is in a loop of the memory test: it comes by here again.
      const at = `$${(await next.locator(".code-at").textContent())!}`;
      await page.getByRole("button", { name: "Step" }).press("Enter");
      await page.getByLabel("Stop before the instruction at").fill(at);
      await page.keyboard.press("Enter");
      await page.getByRole("button", { name: `No longer stop before ${at}` }).waitFor();
      await page.getByLabel("As fast as it goes").focus();
      await page.keyboard.press("Space");
      await page.getByRole("button", { name: "Go on" }).focus();
      await page.keyboard.press("Enter");
      await paused(page, "Stopped before a breakpoint");
      expect(await told(page, "registers")).toMatch(new RegExp(`PC\\s*${at.slice(1)}`));
      expect(await next.textContent()).toContain(at.slice(1));
      expect(await page.locator(".code-stop[aria-pressed=true]").count()).toBe(1);
      await page.getByLabel("Memory from").fill("E000");
      await page.keyboard.press("Enter");
      await page.locator(".bytes-shown").waitFor();
      const rom = await readFile(join(job.folder, "images/monitor.rom"));
      const bytes = [...rom.subarray(0, 16)].map((each) => each.toString(16).toUpperCase().padStart(2, "0")).join(" ");
      expect(await page.locator(".bytes-shown").textContent()).toContain(`E000  ${bytes}`);
      await page.getByRole("button", { name: `No longer stop before ${at}` }).focus();
      await page.keyboard.press("Enter");
      await page.getByRole("button", { name: "Go on" }).focus();
      await page.keyboard.press("Enter");
      await shows(page, STAGE, "Larkfield 9, monitor 1");
      // Tab leaves the terminal's keyboard.
      await page.getByLabel(`Keyboard of ${STAGE}`).focus();
      await page.keyboard.press("Tab");
      expect(await page.evaluate(() => document.activeElement?.textContent)).toBe("Ctrl");
    });
  });

  it("stands still while another page is shown, and says when the bench file was changed", async () => {
    const own = await serveJob("mended", withImages("mended"));
    try {
      await onPage(
        async (page) => {
          await switchOn(page);
          const goTo = (hash: string): Promise<void> =>
            page.evaluate((to) => {
              location.hash = to;
            }, hash);
          await goTo("#/time");
          await page.waitForSelector("h1:text-is('Time')");
          await goTo("#/rehearse");
          await page.waitForSelector("h1:text-is('Rehearse')");
          await paused(page);
          const path = join(own.folder, "bench.yaml");
          await writeFile(path, (await readFile(path, "utf8")).replace("rate: 2,400 bit/s", "rate: 1,200 bit/s"));
          await page.getByRole("button", { name: "Switch the changed one on" }).click();
          await asFastAsItGoes(page);
          // The terminal hears at half the rate: garbage, and the page says so.
          await page.waitForSelector("text=/of them with errors/", { timeout: 90_000 });
        },
        {},
        { at: own },
      );
    } finally {
      await own.close();
    }
  });

  it("says what the bench lacks, and runs the second machine", async () => {
    const own = await serveJob("second-machine", withImages("second-machine"));
    try {
      await onPage(
        async (page) => {
          const rom = join(own.folder, "images/monitor.rom");
          const bytes = await readFile(rom);
          await rm(rom);
          await page.getByRole("button", { name: "Switch it on" }).click();
          await page.waitForSelector("[role=alert]:has-text('monitor.rom')");
          await writeFile(rom, bytes);
          await switchOn(page);
          await asFastAsItGoes(page);
          await page.waitForSelector(".screen:has-text('SHOW')", { timeout: 90_000 });
          expect(await told(page, "registers")).toContain("IX");
        },
        {},
        // The browser itself complains of the refused request.
        { at: own, complaints: [/404/] },
      );
    } finally {
      await own.close();
    }
  });
});

describe("the page Rehearse", () => {
  for (const colorScheme of ["light", "dark"] as const)
    for (const width of [1440, 390])
      it(`has no fault that axe finds and does not scroll sideways: ${colorScheme}, ${width} px`, async () => {
        await onPage(
          async (page) => {
            const inspect = async (): Promise<void> => {
              // In the dark nothing but the colours differs.
              const axe = new AxeBuilder({ page });
              const { violations } = await (colorScheme === "light"
                ? axe
                : axe.withRules(["color-contrast"])
              ).analyze();
              expect(violations.map(({ id, nodes }) => `${id}: ${nodes.map((each) => each.html).join("\n")}`)).toEqual(
                [],
              );
              const [needs, has] = await page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
              expect(needs).toBeLessThanOrEqual(has ?? 0);
            };
            await switchOn(page);
            await shows(page, STAGE, "monitor 1");
            await press(page, "Pause");
            await paused(page);
            await press(page, "Keep this moment");
            await page.getByLabel("Memory from").fill("1000");
            await page.keyboard.press("Enter");
            await page.locator(".bytes-shown").waitFor();
            await inspect();
            await press(page, "Switch off");
            await page.getByRole("button", { name: "Switch it on" }).waitFor();
            if (width < 1000) await inspect();
          },
          { viewport: { width, height: 844 }, colorScheme },
        );
      });
});
