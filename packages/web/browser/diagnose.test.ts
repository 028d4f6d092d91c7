import { mkdir, readFile, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { AxeBuilder } from "@axe-core/playwright";
import { fromIntelHex, fromSRecord } from "@rouse/core/bytes";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type OpenedWorkbench, serveJob, startBrowser, visit } from "./workbench.ts";

let browser: Browser;
let job: OpenedWorkbench;

/** A report in which bit 3 of all of main memory gives 1, as it comes over a line, with other text about it. */
const REPORT = (id: string): string =>
  `\r\nready\r\nBEGIN ${id}\r\nA: MARCH C- OVER MAIN MEMORY\r\n${[2, 4, 6]
    .flatMap((element) => [
      ...[0, 1, 2, 3].map((address) => `A${element} A${address.toString(16).padStart(4, "0")} W00 G08`),
    ])
    .join("\r\n")}\r\nA BAD\r\nEND BAD\r\n<img src=x onerror=hurt()>\x1b[31m\r\n`;

beforeAll(async () => {
  const fill = async (folder: string): Promise<void> => {
    await mkdir(join(folder, "captures"), { recursive: true });
  };
  [browser, job] = await Promise.all([startBrowser(), serveJob("mended", fill)]);
});
afterAll(async () => {
  await browser?.close();
  await job?.close();
});

/** Runs with a page of its own, which must have asked no other host and complained of nothing. */
async function onPage(
  run: (page: Page) => Promise<void>,
  options: Parameters<typeof visit>[2] = { viewport: { width: 1440, height: 900 } },
): Promise<void> {
  const opened = await visit(browser, job.address, options);
  try {
    await opened.page.evaluate(() => {
      location.hash = "#/diagnose";
    });
    await opened.page.getByRole("heading", { name: "What is tested" }).waitFor();
    await run(opened.page);
    expect([...opened.hosts]).toEqual([new URL(job.address).host]);
    expect(opened.complaints).toEqual([]);
  } finally {
    await opened.context.close();
  }
}

/** A march over main memory alone, which is quick to make. */
async function makeMarch(page: Page): Promise<string> {
  for (const box of await page.getByRole("group", { name: "Other tests" }).getByRole("checkbox").all())
    if (await box.isChecked()) await box.uncheck();
  await page.getByRole("checkbox", { name: "the banks behind the window" }).uncheck();
  await page.getByRole("checkbox", { name: "every block through the translation board" }).uncheck();
  await page.getByRole("button", { name: "Make the program" }).click();
  const title = page.getByRole("heading", { name: /^Program [0-9A-F]{4}$/ });
  await title.waitFor();
  return ((await title.textContent()) ?? "").slice(-4);
}

async function saved(page: Page, name: RegExp): Promise<Buffer> {
  const [download] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name }).click()]);
  return readFile(await download.path());
}

describe("the diagnose page", () => {
  it("makes a program and gives it in every form, the same bytes in each", async () => {
    await onPage(async (page) => {
      const id = await makeMarch(page);
      const source = (await saved(page, /source/)).toString();
      expect(source).toContain(id);
      const srec = fromSRecord((await saved(page, /S-records/)).toString());
      const ihex = fromIntelHex((await saved(page, /Intel HEX/)).toString());
      expect(ihex.segments).toEqual(srec.segments);
      const raw = await saved(page, /raw/);
      expect(raw.length).toBe(8192);
      const [first] = srec.segments;
      // The monitor's EPROM answers from E000 on.
      expect(raw.subarray(first!.address - 0xe000, first!.address - 0xe000 + 64)).toEqual(
        Buffer.from(first!.bytes.subarray(0, 64)),
      );
      await page.getByText("Type it in").click();
      const lines = page.getByRole("application", { name: /^Lines to type/ });
      await lines.focus();
      await page.keyboard.press("ArrowDown");
      expect(await page.getByTestId("line").textContent()).toMatch(/^line 2 of \d/);
      expect(await lines.locator(".is-at").textContent()).toMatch(/^[0-9A-F]{4} {2}.* \| [0-9A-F]{2}$/);
      await page.getByRole("button", { name: "How long it takes" }).click();
      await page.getByTestId("ran").waitFor({ timeout: 60_000 });
      expect(await page.getByTestId("ran").textContent()).toMatch(/^[\d.]+ (s|min) of the machine's time/);
    });
  });

  it("reads a report from a capture, names the chip on the board, and says what to measure next", async () => {
    await onPage(async (page) => {
      const id = await makeMarch(page);
      await writeFile(join(job.folder, "captures/test.txt"), REPORT(id));
      await page.reload();
      await page.getByLabel("Or from the job's captures/").selectOption("test.txt");
      await page.getByTestId("ranked").waitFor({ timeout: 60_000 });
      expect(await page.getByTestId("told").textContent()).not.toContain("Choose above");
      expect(await page.getByTestId("ranked").locator("li").first().textContent()).toMatch(/^1U23 .* on main board/);
      expect(await page.locator(".m-chip.is-lit .m-chip-name").allTextContents()).toEqual(["U23"]);
      expect(await page.getByTestId("next").textContent()).toMatch(/pull the plug.*U23/s);
      const { violations } = await new AxeBuilder({ page }).analyze();
      expect(violations.map(({ id: rule, nodes }) => `${rule}: ${nodes.map((each) => each.html).join(" ")}`)).toEqual(
        [],
      );
      await page.getByLabel(/^Its report/).fill("A GOOD\nEND GOOD");
      await page.getByRole("button", { name: "Read it" }).click();
      await page.getByText("The program found nothing wrong.").waitFor({ timeout: 60_000 });
      await page.getByText("does not name its program").waitFor();
    });
  });

  it("fits a phone by night, without a fault that axe finds", async () => {
    await onPage(
      async (page) => {
        await makeMarch(page);
        await page.getByText("Type it in").click();
        const { violations } = await new AxeBuilder({ page }).analyze();
        expect(violations.map(({ id, nodes }) => `${id}: ${nodes.map((each) => each.html).join(" ")}`)).toEqual([]);
        expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(390);
        const hidden = await page.locator(".d-lines").evaluate((lines) => lines.scrollWidth - lines.clientWidth);
        expect(hidden).toBeLessThanOrEqual(0);
      },
      { viewport: { width: 390, height: 844 }, colorScheme: "dark", reducedMotion: "reduce" },
    );
  });
});
