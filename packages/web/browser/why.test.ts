import { readFile, rm } from "node:fs/promises";
import { join } from "node:path";
import { AxeBuilder } from "@axe-core/playwright";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type OpenedWorkbench, serveJob, startBrowser, visit } from "./workbench.ts";

let browser: Browser;
let job: OpenedWorkbench;

beforeAll(async () => {
  // Who tried the demo has left a log in it.
  const fresh = (folder: string) => rm(join(folder, "log.jsonl"), { force: true });
  [browser, job] = await Promise.all([startBrowser(), serveJob("mended", fresh)]);
});
afterAll(async () => {
  await browser?.close();
  await job?.close();
});

/** Runs with a page of its own, which must have asked no other host and complained of nothing but `complaints`. */
async function onPage(
  hash: string,
  run: (page: Page) => Promise<void>,
  options: Parameters<typeof visit>[2] = { viewport: { width: 1440, height: 900 } },
  complaints: readonly RegExp[] = [],
): Promise<void> {
  const opened = await visit(browser, job.address, options);
  try {
    await opened.page.evaluate((to) => {
      location.hash = to;
    }, hash);
    await run(opened.page);
    expect([...opened.hosts]).toEqual([new URL(job.address).host]);
    expect(opened.complaints.filter((each) => !complaints.some((known) => known.test(each)))).toEqual([]);
  } finally {
    await opened.context.close();
  }
}

const first = (page: Page) => page.getByTestId("why-causes").locator("summary").first();
const entries = async (): Promise<{ kind: string; what: string; test?: string; reading?: string }[]> =>
  (await readFile(join(job.folder, "log.jsonl"), "utf8"))
    .trim()
    .split("\n")
    .map((each) => JSON.parse(each));

describe("the Why page", () => {
  it("ranks by what is pressed and typed, asks the next test, and takes back", async () => {
    await onPage(
      "#/why",
      async (page) => {
        await page.getByTestId("test-title").filter({ hasText: "Look at stage terminal" }).waitFor();
        await page.getByRole("button", { name: "dark screen" }).click();
        await page.getByRole("button", { name: "dark screen", pressed: true }).waitFor();
        expect(await first(page).textContent()).toContain("stage terminal");
        expect(await page.getByTestId("why-chain").textContent()).toMatch(/Terminal\d\d %/);

        const asked = page.getByTestId("test-title");
        expect(await asked.textContent()).toBe("Look for life in stage terminal");
        expect(await page.getByRole("list", { name: "Cautions" }).first().textContent()).toContain("Picture tube");
        await page.getByRole("button", { name: /^no sign of life/ }).click();
        await page.getByTestId("why-found").waitFor();
        expect(await page.getByTestId("why-found").textContent()).toContain("supply of stage terminal");
        await first(page).click();
        expect(await page.locator(".why-reasons").first().textContent()).toMatch(/× \d+ ?Look at stage terminal: dark/);

        await page.getByRole("button", { name: "Take back: Look for life in stage terminal" }).click();
        await page.getByTestId("why-found").waitFor({ state: "detached" });

        const measured = page.getByLabel(/^Something you measured/);
        await measured.fill("5 V rail = 4.2 V");
        await page.keyboard.press("Enter");
        await page.getByTestId("why-history").filter({ hasText: "4.2 V: below its limit" }).waitFor();
        expect(await measured.inputValue()).toBe("");
        await measured.fill("mood = bad");
        await page.keyboard.press("Enter");
        await page.waitForSelector("[role=alert]:has-text('Nothing here is called')");
        expect((await entries()).map(({ what, test, reading }) => reading ?? test ?? what)).toEqual([
          "screen",
          "terminal-lamp",
          "undo",
          "4.2 V",
        ]);
      },
      undefined,
      [/422/],
    );
  });

  it("goes on from the log, shows one link's causes, and begins anew", async () => {
    await onPage("#/why", async (page) => {
      await page.getByTestId("why-history").filter({ hasText: "4.2 V" }).waitFor();
      await page.getByRole("button", { name: /^board, .*: show only its causes/ }).click();
      await page.waitForSelector("h2:text-is('Causes in the board')");
      expect(await first(page).textContent()).toContain("+5 V");
      await page.getByRole("button", { name: "Begin anew" }).click();
      await page.waitForSelector("text=/^Nothing yet/");
    });
  });

  it("begins with the test of the run book's step that failed, and takes a reading", async () => {
    await onPage(`#/why?symptom=${encodeURIComponent("supply-on-load/+12 V")}`, async (page) => {
      await page.getByTestId("test-title").filter({ hasText: "Measure +12 V on the board" }).waitFor();
      await page.getByLabel(/^The reading, with its unit/).fill("0.1 V");
      await page.keyboard.press("Enter");
      await page.getByTestId("why-history").filter({ hasText: "0.1 V: nothing, or near it" }).waitFor();
      expect(await first(page).textContent()).toContain("+12 V");
      await page.getByLabel("Another test").selectOption({ index: 2 });
      await page.waitForSelector(".over:text-is('The test you chose')");
      await page.getByRole("button", { name: "Begin anew" }).click();
      await page.waitForSelector("text=/^Nothing yet/");
    });
  });

  // In the dark nothing but the colours differs.
  for (const colorScheme of ["light", "dark"] as const)
    for (const width of colorScheme === "light" ? [1440, 390] : [1440])
      it(`has no fault that axe finds and does not scroll sideways: ${colorScheme}, ${width}`, async () => {
        await onPage(
          "#/why",
          async (page) => {
            await page.getByRole("button", { name: "dark screen" }).click();
            await page.getByRole("button", { name: "dark screen", pressed: true }).waitFor();
            await page.getByRole("button", { name: /^no sign of life/ }).click();
            await page.getByTestId("why-found").waitFor();
            await first(page).click();
            const { violations } = await new AxeBuilder({ page }).analyze();
            expect(violations.map(({ id, nodes }) => `${id}: ${nodes.map((each) => each.html).join("\n")}`)).toEqual(
              [],
            );
            const [needs, has] = await page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
            expect(needs).toBeLessThanOrEqual(has ?? 0);
            await page.getByRole("button", { name: "Begin anew" }).click();
            await page.waitForSelector("text=/^Nothing yet/");
          },
          { viewport: { width, height: 844 }, colorScheme },
        );
      });
});
