import { readFile, rm, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { AxeBuilder } from "@axe-core/playwright";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { addImages, HOSTILE } from "./fixture.ts";
import { type OpenedWorkbench, serveJob, startBrowser, type Visit, visit } from "./workbench.ts";

let browser: Browser;
let job: OpenedWorkbench;

beforeAll(async () => {
  [browser, job] = await Promise.all([startBrowser(), serveJob("first-try", addImages)]);
});
afterAll(async () => {
  await browser?.close();
  await job?.close();
});

/** Runs with a page of its own, which must have asked no other host and complained of nothing. */
async function onPage(
  run: (page: Page) => Promise<void>,
  options: Parameters<typeof visit>[2] = { viewport: { width: 1440, height: 900 } },
  { at = job, complaints = [] as RegExp[] } = {},
): Promise<void> {
  const opened: Visit = await visit(browser, at.address, options);
  try {
    await run(opened.page);
    expect([...opened.hosts]).toEqual([new URL(at.address).host]);
    expect(opened.complaints.filter((each) => !complaints.some((expected) => expected.test(each)))).toEqual([]);
  } finally {
    await opened.context.close();
  }
}
const open = (page: Page, hash: string): Promise<unknown> =>
  page.evaluate((to) => {
    location.hash = to;
  }, hash);
const verdict = (page: Page, link: string) => page.locator(`.station-link[data-link="${link}"] .verdict`);

describe("the chain page", () => {
  it("draws all eleven links, each with its verdict in a word and a shape", async () => {
    await onPage(async (page) => {
      await page.waitForSelector(".scene");
      expect(await page.locator(".station-name").allTextContents()).toEqual([
        ..."Image Medium Drive Bus Board Memory System Port Cable Terminal Audience".split(" "),
      ]);
      expect(await page.locator(".station-link .verdict .shape").count()).toBe(11);
      for (const word of await page.locator(".station-link .verdict").allTextContents())
        expect(["runs", "tight", "stops", "unknown"]).toContain(word);
      expect(await verdict(page, "cable").textContent()).toBe("stops");
      expect(await verdict(page, "board").textContent()).toBe("tight");
      expect(await page.getByTestId("headline").textContent()).toMatch(/^The .*drive.* and the cable stop this chain/);
      // A straight cable between two DTEs: both drive TxD.
      expect(await page.locator('[data-link="cable"] .wire.is-fight').count()).toBeGreaterThanOrEqual(2);
    });
  });

  it("opens a link's findings by keys alone, with arithmetic, remedy and place", async () => {
    await onPage(async (page) => {
      await page.waitForSelector(".scene");
      await page.locator('[data-link="image"]').focus();
      for (let step = 0; step < 4; step++) await page.keyboard.press("ArrowRight");
      expect(await page.evaluate(() => (document.activeElement as HTMLElement).dataset.link)).toBe("board");
      await page.keyboard.press("Enter");
      await page.waitForSelector("#findings-title:has-text('Board')");
      const finding = page.locator(".finding.is-tight").first();
      expect(await finding.locator(".figures tbody tr").count()).toBeGreaterThan(2);
      expect(await finding.textContent()).toContain("What to do:");
      await finding.locator(".sources summary").press("Enter");
      expect(await finding.locator(".sources li").first().isVisible()).toBe(true);
      await finding.locator(".place").press("Enter");
      await page.waitForSelector(".cm-content");
      await page.waitForFunction(() => document.activeElement?.classList.contains("cm-content"));
      expect(await page.locator(".cm-activeLine").first().textContent()).toContain("+5 V");
    });
  });

  it("shows the cautions until they were seen and read, and keeps them at hand", async () => {
    await onPage(
      async (page) => {
        const button = page.locator(".cautions button");
        await button.waitFor();
        expect(await button.isDisabled()).toBe(true);
        for (const item of await page.locator(".cautions li").all()) await item.scrollIntoViewIfNeeded();
        await page.waitForFunction(() => !document.querySelector(".cautions button")?.hasAttribute("disabled"));
        await button.click();
        expect(await page.locator(".cautions li").count()).toBe(0);
        await page.reload();
        await page.locator(".cautions.is-folded button").click();
        expect(await page.locator(".cautions li").count()).toBe(4);
      },
      { viewport: { width: 390, height: 500 } },
    );
  });

  it("names what would describe a link that the bench leaves out, and says of no such chain that it runs", async () => {
    const bare = await serveJob("mended", async (folder) => {
      const path = join(folder, "bench.yaml");
      await writeFile(path, (await readFile(path, "utf8")).replace(/^cables:\n(?: .*\n)+/m, ""));
    });
    try {
      await onPage(
        async (page) => {
          await open(page, "#/chain/cable");
          await page.locator("#findings .missing", { hasText: /^Would be settled by: cables$/ }).waitFor();
          expect(await page.getByTestId("headline").textContent()).toMatch(/^Nothing stops .* 1 link cannot be judged/);
          await open(page, "#/bench");
          await page.locator('.links li[data-link="cable"] .link-says', { hasText: "needed: cables." }).waitFor();
        },
        undefined,
        { at: bare },
      );
    } finally {
      await bare.close();
    }
  });

  it("opens the findings below their link on a phone", async () => {
    await onPage(
      async (page) => {
        await page.locator('[data-link="cable"]').click();
        await page.waitForSelector("li.is-open #findings");
        await page.locator('[data-link="cable"]').click();
        await page.waitForSelector("#findings", { state: "detached" });
      },
      { viewport: { width: 390, height: 844 }, hasTouch: true },
    );
  });
});

describe("the bench file", () => {
  it("redraws the chain soon after a key, saves, and follows edits from outside", async () => {
    const path = join(job.folder, "bench.yaml");
    const original = await readFile(path, "utf8");
    await onPage(async (page) => {
      await open(page, "#/bench?key=cables.terminal cable.kind");
      await page.waitForFunction(() => document.activeElement?.classList.contains("cm-content"));
      await page.waitForSelector('.links li[data-link="cable"][data-verdict="stops"]');
      // The time from each key to the next change of the cable's verdict in the page.
      await page.evaluate(() => {
        const seen = window as unknown as { pressed: number; took: number[] };
        seen.took = [];
        addEventListener("keydown", () => (seen.pressed = performance.now()), true);
        const line = document.querySelector('.links li[data-link="cable"]');
        if (line)
          new MutationObserver(() => seen.took.push(performance.now() - seen.pressed)).observe(line, {
            attributeFilter: ["data-verdict"],
          });
      });
      const took = (): Promise<number[]> => page.evaluate(() => (window as unknown as { took: number[] }).took);
      const becomes = (word: string): Promise<unknown> =>
        page.waitForSelector(`.links li[data-link="cable"][data-verdict="${word}"]`);
      await page.keyboard.press("ArrowLeft");
      await page.keyboard.press("Control+Shift+ArrowRight");
      // In one piece, so that one undo takes it back whole.
      await page.keyboard.insertText("null modem");
      await becomes("runs");
      await page.evaluate(() => {
        (window as unknown as { took: number[] }).took.length = 0;
      });
      for (const [key, word] of [
        ["Control+z", "stops"],
        ["Control+y", "runs"],
        ["Control+z", "stops"],
        ["Control+y", "runs"],
        ["Control+z", "stops"],
        ["Control+y", "runs"],
      ] as const) {
        await page.keyboard.press(key);
        await becomes(word);
      }
      const times = (await took()).sort((a, b) => a - b);
      console.log(`key to changed verdict: ${times.map((each) => each.toFixed(0)).join(", ")} ms`);
      expect(times.length).toBe(6);
      // 200 ms is aimed at, and met on a quiet machine; a busy one may take ten times as long.
      expect(times[0]).toBeLessThan(2000);

      expect(await page.locator(".saved").textContent()).toBe("changes not saved");
      expect(await readFile(path, "utf8")).toBe(original);
      await page.keyboard.press("Control+s");
      await page.waitForSelector(".saved:text-is('saved')");
      expect(await readFile(path, "utf8")).toBe(original.replace("kind: straight", "kind: null modem"));

      // Edited elsewhere, with nothing unsaved here: followed.
      await writeFile(path, original.replace("kind: straight", "kind: three wires"));
      await page.waitForSelector(".cm-line:has-text('kind: three wires')");
      await becomes("stops");
      // Edited on both sides: the person decides.
      await page.locator(".cm-content").focus();
      await page.keyboard.press("Control+Home");
      await page.keyboard.type("# mine");
      await writeFile(path, original);
      await page.waitForSelector(".notice.is-choice");
      expect(await page.locator(".cm-content").textContent()).toContain("# mine");
      await page.getByRole("button", { name: "Take theirs" }).click();
      await page.waitForSelector(".notice.is-choice", { state: "detached" });
      expect(await page.locator(".cm-line:has-text('# mine')").count()).toBe(0);
      expect(await page.locator(".saved").textContent()).toBe("saved");
    });
    await writeFile(path, original);
  });

  it("offers keys and values with their meaning, and marks what cannot be used", async () => {
    await onPage(async (page) => {
      await open(page, "#/bench?key=ports.console.handshake");
      await page.waitForFunction(() => document.activeElement?.classList.contains("cm-content"));
      await page.keyboard.press("End");
      await page.keyboard.press("Enter");
      await page.keyboard.type("div");
      await page.waitForSelector(".cm-tooltip-autocomplete li:has-text('divide')");
      await page.waitForSelector(".cm-completionInfo");
      expect((await page.locator(".cm-completionInfo").textContent())?.length).toBeGreaterThan(10);
      await page.keyboard.press("Escape");
      await page.keyboard.type("vv: 3");
      await page.waitForSelector(".cm-lint-marker-error");
      // What stands half typed is told too; the last word counts.
      await page.waitForSelector(".issues li:first-child:has-text('divvv')");
      // The chain of the last usable text stays in view, and is said to be that.
      expect(await page.locator(".stale-note").count()).toBe(1);
    });
  });
});

describe("the image page", () => {
  it("goes from sector to sector by keys, and says what each is", async () => {
    await onPage(async (page) => {
      await open(page, "#/images/system.img");
      const picture = page.getByRole("application");
      await picture.focus();
      await page.keyboard.press("Control+End");
      expect(await page.locator("#disk-spoken").textContent()).toMatch(
        /^Block 2871, track 79, side 1, sector 18: free\.$/,
      );
      await page.keyboard.press("Control+Home");
      expect(await page.locator("#disk-spoken").textContent()).toMatch(/^Block 0, track 0, side 0, sector 1: system/);
      for (let step = 0; step < 8; step++) await page.keyboard.press("ArrowRight");
      const told = await page.locator("#disk-spoken").textContent();
      expect(told).toMatch(/^Block 8, track 0, side 0, sector 9: file boot, block \d+ of 18\.$/);
      await page.keyboard.press("Enter");
      await page.waitForSelector("#file-title:text-is('boot')");
      expect(await page.locator(".strip-cell.is-chosen").count()).toBeGreaterThan(0);
    });
  });

  it("lists, shows and saves files, and looks inside a volume in a file", async () => {
    await onPage(async (page) => {
      await open(page, "#/images/system.img");
      const row = (name: string) => page.getByRole("row", { name, exact: true });
      await row("notes").click();
      await page.waitForSelector(".bytes:has-text('The login comes up after a minute.')");
      await page.getByRole("radio", { name: "Hex" }).click();
      await page.waitForSelector(".bytes:has-text('41 6E 20 6F 70 65 6E')");
      const [saved] = await Promise.all([
        page.waitForEvent("download"),
        page.getByText("Save to this computer").click(),
      ]);
      expect(await readFile((await saved.path()) ?? "", "latin1")).toBe(
        "An open day.\r\nThe login comes up after a minute.\r\n".repeat(40),
      );
      expect(await row("gone").count()).toBe(0);
      await page.getByText("Show deleted files").click();
      expect(await page.locator(".tree-row.is-deleted").count()).toBe(1);
      await row("inner.img").click();
      await page.getByRole("link", { name: "look inside" }).click();
      await page.waitForSelector("h1:text-is('INNER')");
      await row("README.TXT").click();
      await page.waitForSelector(".bytes:has-text('A volume inside a file.')");
      expect(await page.getByRole("navigation", { name: "Where this is" }).textContent()).toBe(
        "Imagessystem.imginner.img",
      );
    });
  });

  it("tells modules, start-up lines, needs and damage", async () => {
    await onPage(async (page) => {
      await open(page, "#/images/system.img");
      await page.getByRole("tab", { name: "System" }).click();
      const modules = page.getByRole("region", { name: /modules$/ });
      expect(await modules.locator("tbody th").allTextContents()).toEqual(
        expect.arrayContaining(["Kernel", "Files", "Serial", "shell"]),
      );
      expect(await modules.locator("tr:has-text('Broken')").textContent()).toMatch(/CRC/i);
      await page.waitForSelector(".script:has-text('setime')");
      await open(page, "#/images/zoned.img");
      await page.waitForSelector("h1:text-is('MUSEUM')");
      await page.getByRole("tab", { name: /Damage/ }).click();
      expect(await page.locator(".damages > li").count()).toBeGreaterThan(0);
      expect(await page.locator(".damages > li").first().textContent()).toContain("A repair would:");
      const block = page.locator(".damages .block").first();
      const number = await block.textContent();
      await block.click();
      await page.waitForSelector(`.sector-block:has-text('Block ${number}')`);
    });
  });

  it("shows bytes of an image only as text, whatever they hold", async () => {
    await onPage(async (page) => {
      await open(page, "#/images/system.img");
      const name = HOSTILE.replace("\x1b", "%1B");
      await page.locator(".tree-name", { hasText: "<img" }).click();
      await page.waitForSelector(".bytes:has-text('<script>hurt()</script>')");
      expect(await page.locator("#file-title").textContent()).toBe(name);
      expect(await page.locator("main img, main script").count()).toBe(0);
      const text = (await page.locator("main").textContent()) ?? "";
      expect([...text].filter((each) => each < " " && each !== "\n" && each !== "\t" && each !== "\r")).toEqual([]);
    });
  });

  it("says what to do where a job has no images", async () => {
    const bare = await serveJob("first-try", (folder) => rm(join(folder, "images"), { recursive: true, force: true }));
    try {
      await onPage(
        async (page) => {
          await open(page, "#/images");
          await page.waitForSelector("h2:has-text('No images yet')");
          await open(page, "#/images/none.img");
          await page.waitForSelector("[role=alert]:has-text('none.img')");
        },
        undefined,
        // The browser itself complains of the refused request for an image that is not there.
        { at: bare, complaints: [/404/] },
      );
    } finally {
      await bare.close();
    }
  });
});

describe("the images page", () => {
  it("says of a ROM which region it is for, and leaves a phone's width to the page on every tab", async () => {
    await onPage(
      async (page) => {
        await open(page, "#/images");
        const card = page.locator(".image-list .card", { hasText: "monitor.rom" });
        await expect
          .poll(() => card.locator(".card-note").textContent(), { timeout: 20_000 })
          .toBe("On this bench: ROM of monitor");
        await open(page, "#/images/tern.img");
        for (const name of ["Files", "System", "Needs", "Damage", "Volume and evidence"]) {
          await page.getByRole("tab", { name }).click();
          await page.getByRole("tabpanel", { name }).waitFor();
          expect(await page.evaluate(() => document.documentElement.scrollWidth), name).toBeLessThanOrEqual(390);
        }
      },
      { viewport: { width: 390, height: 844 } },
    );
  });
});

describe("every page", () => {
  const PAGES = ["#/chain/cable", "#/bench", "#/images", "#/images/zoned.img?file=letters"];

  /** Laid out otherwise on a phone; the rest differs only in width. */
  const NARROW = ["#/chain/cable", "#/images/zoned.img?file=letters"];

  for (const colorScheme of ["light", "dark"] as const)
    for (const width of [1440, 390])
      it(`has no fault that axe finds and does not scroll sideways: ${colorScheme}, ${width} px`, async () => {
        await onPage(
          async (page) => {
            for (const hash of PAGES) {
              await open(page, hash);
              await page.waitForSelector("main h1");
              if (hash === "#/bench") await page.waitForSelector(".cm-content");
              if (hash.includes("file=")) await page.waitForSelector(".bytes");
              await page.waitForTimeout(150);
              if (width > 1000 || NARROW.includes(hash)) {
                // In the dark nothing but the colours differs.
                const axe = new AxeBuilder({ page });
                const { violations } = await (colorScheme === "light"
                  ? axe
                  : axe.withRules(["color-contrast"])
                ).analyze();
                const told = violations.map(({ id, nodes }) => `${id}: ${nodes.map((each) => each.html).join("\n")}`);
                expect(told, hash).toEqual([]);
              }
              const [needs, has] = await page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
              expect(needs, hash).toBeLessThanOrEqual(has ?? 0);
            }
          },
          { viewport: { width, height: 844 }, colorScheme },
        );
      });

  it("has the same head: skip link, theme remembered, keys listed", async () => {
    await onPage(async (page) => {
      await page.waitForSelector(".scene");
      await page.keyboard.press("Tab");
      expect(await page.evaluate(() => document.activeElement?.textContent)).toBe("Skip to the page");
      await page.keyboard.press("Enter");
      expect(await page.evaluate(() => document.activeElement?.id)).toBe("main");
      const paper = (): Promise<string> =>
        page.evaluate(() => getComputedStyle(document.documentElement).backgroundColor);
      const before = await paper();
      await page.locator(".theme-switch label").nth(2).click();
      const after = await paper();
      expect(after).not.toBe(before);
      await page.reload();
      await page.waitForSelector(".scene");
      expect(await paper()).toBe(after);
      await page.keyboard.press("?");
      await page.waitForSelector("[role=dialog]:has-text('Images')");
      const { violations } = await new AxeBuilder({ page }).analyze();
      expect(violations.map(({ id }) => id)).toEqual([]);
      await page.keyboard.press("Escape");
      await page.waitForSelector("[role=dialog]", { state: "detached" });
      await page.keyboard.press("2");
      await page.waitForSelector(".pages a[aria-current=page]:text-is('Memory')");
      await page.keyboard.press("2");
      await page.waitForSelector(".pages a[aria-current=page]:text-is('Boards')");
      await page.keyboard.press("1");
      await page.waitForSelector(".pages a[aria-current=page]:text-is('Chain')");
    });
  });
});
