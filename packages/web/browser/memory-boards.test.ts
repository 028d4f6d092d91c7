import { readFile, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { AxeBuilder } from "@axe-core/playwright";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type OpenedWorkbench, serveJob, startBrowser, visit } from "./workbench.ts";

let browser: Browser;
let job: OpenedWorkbench;

beforeAll(async () => {
  [browser, job] = await Promise.all([startBrowser(), serveJob("first-try")]);
});
afterAll(async () => {
  await browser?.close();
  await job?.close();
});

/** Runs with a page of its own, which must have asked no other host and complained of nothing. */
async function onPage(
  hash: string,
  run: (page: Page) => Promise<void>,
  options: Parameters<typeof visit>[2] = { viewport: { width: 1440, height: 900 } },
): Promise<void> {
  const opened = await visit(browser, job.address, options);
  try {
    await opened.page.evaluate((to) => {
      location.hash = to;
    }, hash);
    await run(opened.page);
    expect([...opened.hosts]).toEqual([new URL(job.address).host]);
    expect(opened.complaints).toEqual([]);
  } finally {
    await opened.context.close();
  }
}

const told = async (page: Page, id: string): Promise<string> => (await page.getByTestId(id).textContent()) ?? "";
const lit = (page: Page): Promise<string[]> => page.locator(".m-chip.is-lit").allTextContents();

describe("the memory page", () => {
  it("lights chips, bank and board of an address that is gone to by keys, typed, or pointed at", async () => {
    await onPage("#/memory", async (page) => {
      const drawing = page.getByRole("application");
      await drawing.focus();
      await page.keyboard.press("PageDown");
      expect(await told(page, "address")).toBe("$C000");
      for (const key of ["ArrowRight", "ArrowDown", "ArrowUp", "ArrowLeft", "ArrowRight"])
        await page.keyboard.press(key);
      expect(await page.locator("#memory-spoken").textContent()).toBe(
        "$C001: window (window), bank 0, byte 1 of it, on main board.",
      );
      expect(await lit(page)).toEqual(["U28", "U29", "U30", "U31", "U32", "U33", "U34", "U35"]);
      expect(await page.locator(".m-bank.is-lit").allTextContents()).toEqual(["0"]);
      expect(await page.locator(".m-board.is-lit").allTextContents()).toEqual(["main board"]);
      await page.getByRole("button", { name: "bit 3, U31" }).click();
      expect(await lit(page)).toEqual(["U31"]);
      await page.getByLabel("An address, in hexadecimal").fill("$1234");
      expect(await lit(page)).toEqual(["U23"]);
      const box = (await drawing.boundingBox())!;
      await page.mouse.move(box.x + 100, box.y + 26 + 5);
      await page.waitForFunction(() => document.querySelector("[data-testid=address]")?.textContent !== "$1234");
      await page.mouse.move(5, 5);
      expect(await told(page, "address")).toBe("$1234");
    });
  });

  it("follows every latch and entry of the map, keeps them in its address, and goes back to power-on", async () => {
    await onPage("#/memory?at=%24C123", async (page) => {
      const slider = page.getByLabel(/^window/);
      await slider.focus();
      for (let k = 0; k < 3; k++) await page.keyboard.press("ArrowRight");
      expect(await told(page, "answer")).toContain("window (window), bank 3, byte 24,867 of it, on main board");
      await page.getByRole("checkbox", { name: /Translation is on/ }).check();
      const entry = page.getByLabel(/^\$C000–\$CFFF/);
      await entry.focus();
      await page.keyboard.press("End");
      expect(await told(page, "answer")).toContain("nothing answers");
      await page.keyboard.press("Home");
      expect(await told(page, "answer")).toContain("main (ram), physical block 0, byte 291 of it");
      await page.waitForFunction(() => location.hash.includes("map.12"));
      await page.reload();
      await page.getByTestId("answer").waitFor();
      expect(await told(page, "answer")).toContain("physical block 0");
      await page.getByRole("button", { name: "As at power-on" }).click();
      expect(await told(page, "answer")).toContain("window (window), bank 0");
    });
  });

  it("shows where the system would lie, and the first address at which the decoder's logic differs", async () => {
    const file = join(job.folder, "bench.yaml");
    const before = await readFile(file, "utf8");
    await onPage("#/memory", async (page) => {
      await page.getByRole("button", { name: "$1300–$16FF" }).click();
      expect(await told(page, "address")).toBe("$1300");
      await page.getByRole("checkbox", { name: "Show where the system would lie" }).check();
      expect(await page.locator(".m-placed-name").allTextContents()).toContain("module login");
      expect(await told(page, "room")).toContain("27 logins at 4 KiB each");
      await writeFile(
        file,
        before.replace("size: 48 KiB,", "size: 48 KiB, select: [not (A15 and A14), not A15 or (not A14 and A13)],"),
      );
      const proof = page.getByTestId("proofs").getByRole("button", { name: "$8000" });
      await proof.click();
      expect(await told(page, "address")).toBe("$8000");
      expect(await told(page, "proofs")).toContain("are proved equal (16 inputs, every combination)");
      await writeFile(file, before.replace("size: 7936 bytes", "size: 8 KiB"));
      const clash = page.getByTestId("findings").getByRole("button", { name: "$FF00–$FF7F" });
      await clash.click();
      expect(await told(page, "answer")).toContain("drive the bus against each other here.");
    });
    await writeFile(file, before);
  });
});

describe("the boards page", () => {
  it("times reads anew as the clock moves, and says when they come too late", async () => {
    await onPage("#/boards", async (page) => {
      const verdict = page.getByTestId("bus-timing/main memory");
      await verdict.filter({ hasText: "has 85 ns left at 1.5 MHz" }).waitFor();
      expect(await page.getByTestId("fastest").first().textContent()).toBe("1.878 MHz");
      const clock = page.getByRole("slider", { name: /^Clock/ });
      await clock.focus();
      await page.keyboard.press("End");
      await verdict.filter({ hasText: "behind the row strobe" }).waitFor();
      expect(await verdict.textContent()).toMatch(/^stops/);
      await page.getByRole("img", { name: /^main memory, 333 ns a read.*too late\.$/ }).waitFor();
      const air = page.getByRole("slider", { name: /^Air/ });
      await air.focus();
      await page.keyboard.press("End");
      await page.getByTestId("regulator-heat/+5 V").filter({ hasText: "above its limit of 125 °C" }).waitFor();
      await page.getByRole("button", { name: "Back to the bench" }).click();
      await verdict.filter({ hasText: "has 85 ns left" }).waitFor();
      await page
        .getByRole("img", {
          name: /^\+5 V: 2\.62 A typical, 2\.89 A at the most, of which added boards 528 mA; the limit is 3 A\.$/,
        })
        .waitFor();
      await page.getByText("Part by part").first().click();
      expect(await page.getByRole("row", { name: /translation board \(added\) 4 × 74LS189/ }).count()).toBe(1);
    });
  });

  it("keeps the ticks of the fitting list, below its cautions", async () => {
    await onPage("#/boards", async (page) => {
      await page.getByText("Mains inside the case.").waitFor();
      const step = page.getByRole("checkbox", { name: /^Switch off, pull the mains plug/ });
      await step.check();
      await page.getByText("1 step ticked.").waitFor();
      await page.reload();
      await page.getByText("1 step ticked.").waitFor();
      expect(await step.isChecked()).toBe(true);
      await page.getByRole("button", { name: "Untick all" }).click();
      expect(await step.isChecked()).toBe(false);
      expect(await page.getByRole("list", { name: "To make the machine what it was" }).locator("li").count()).toBe(3);
    });
  });
});

describe("both pages", () => {
  it("keeps what hangs on a bus line readable on a phone, a part a line or two", async () => {
    await onPage(
      "#/boards",
      async (page) => {
        await page.locator(".b-lines").waitFor();
        const heights = await page
          .locator(".b-hanging > div")
          .evaluateAll((parts) => parts.map((each) => each.getBoundingClientRect().height / 20));
        expect(heights.length).toBeGreaterThan(5);
        expect(Math.max(...heights)).toBeLessThan(2.5);
      },
      { viewport: { width: 390, height: 900 } },
    );
  });

  it.each([
    ["#/memory?state=translation%3Don", "light", 1440],
    ["#/memory?state=translation%3Don", "dark", 390],
    ["#/boards", "dark", 1440],
    ["#/boards", "light", 390],
  ] as const)("have no fault that axe finds, and fit the window: %s, %s, %i", async (hash, colorScheme, width) => {
    await onPage(
      hash,
      async (page) => {
        await page
          .locator(hash.startsWith("#/memory") ? ".m-chip" : ".b-span")
          .first()
          .waitFor();
        const { violations } = await new AxeBuilder({ page }).analyze();
        expect(violations.map(({ id, nodes }) => `${id}: ${nodes.map((each) => each.html).join(" ")}`)).toEqual([]);
        expect(await page.evaluate(() => document.documentElement.scrollWidth)).toBeLessThanOrEqual(width);
      },
      { viewport: { width, height: 900 }, colorScheme, reducedMotion: "reduce" },
    );
  });
});
