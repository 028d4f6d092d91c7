import { appendFile, mkdir, readFile, utimes, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { AxeBuilder } from "@axe-core/playwright";
import { captureHead, captureLine } from "@rouse/core/show";
import type { Browser, BrowserContextOptions, Page } from "playwright-core";
import { afterAll, beforeAll, beforeEach, describe, expect, it, vi } from "vitest";
import { WebVTTParser } from "webvtt-parser";
import { type OpenedWorkbench, serveJob, startBrowser, visit } from "./workbench.ts";

const line = (t: number, way: "in" | "out", text: string): string => {
  const bytes = Uint8Array.from(text, (each) => each.charCodeAt(0));
  return captureLine(way === "in" ? { t, in: bytes } : { t, out: bytes });
};
const head = (started: Date): string =>
  captureHead({ started: started.toISOString(), port: "p", rate: 2400, frame: "8N1", about: "A first boot" });
const SESSION = [
  line(1, "in", "Larkfield 9\r\n48 KiB <b>x</b>\r\n"),
  captureLine({ t: 2, note: "clap" }),
  line(9, "in", "\x1b[1mTern\x1b[0m wakes\r\nlogin: "),
  line(20, "out", "visitor\r"),
  line(21, "in", "visitor\r\n"),
  line(84, "in", "Welcome.\r\ntern: "),
].join("");

let browser: Browser;
let job: OpenedWorkbench;
let script: string;
beforeAll(async () => {
  const fill = async (folder: string): Promise<void> => {
    await mkdir(join(folder, "captures"));
    const path = join(folder, "captures/first boot.jsonl");
    await writeFile(path, head(new Date("2026-06-06T10:00:00Z")) + SESSION);
    await utimes(path, new Date("2026-06-06T10:02:00Z"), new Date("2026-06-06T10:02:00Z"));
    script = await readFile(join(folder, "show.yaml"), "utf8");
  };
  [browser, job] = await Promise.all([startBrowser(), serveJob("mended", fill)]);
});
afterAll(async () => {
  await browser?.close();
  await job?.close();
});
beforeEach(() => writeFile(join(job.folder, "show.yaml"), script));

async function onPage(
  hash: string,
  run: (page: Page) => Promise<void>,
  options: BrowserContextOptions = { viewport: { width: 1440, height: 900 } },
): Promise<void> {
  const opened = await visit(browser, job.address, options);
  try {
    await opened.page.evaluate((to) => {
      location.hash = to;
    }, hash);
    await run(opened.page);
    expect([...opened.hosts]).toEqual([new URL(job.address).host]);
    // The browser tells of every refusal; a plan of a wrong script is one, and a save over another's.
    expect(opened.complaints.filter((each) => !/422|409/.test(each))).toEqual([]);
  } finally {
    await opened.context.close();
  }
}
/** A control by its name, and not by the options in it. */
const control = (page: Page, name: string) =>
  page
    .locator(".field")
    .filter({ has: page.getByText(name, { exact: true }) })
    .locator("select");
const told = (page: Page, id: string): Promise<string | null> => page.getByTestId(id).textContent();
/** In the dark nothing but the colours differs. */
const noFault = async (page: Page, what: string, colorScheme: "light" | "dark"): Promise<void> => {
  const axe = new AxeBuilder({ page });
  const { violations } = await (colorScheme === "light" ? axe : axe.withRules(["color-contrast"])).analyze();
  expect(
    violations.map(({ id, nodes }) => `${id}: ${nodes.map((each) => each.html).join("\n")}`),
    what,
  ).toEqual([]);
  const [needs, has] = await page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
  expect(needs, what).toBeLessThanOrEqual(has ?? 0);
};

describe("the script on the page", () => {
  it("is planned anew as it is edited, undone, and saved with its comments", async () => {
    await onPage("#/show", async (page) => {
      await page.getByTestId("latest").waitFor();
      const before = await told(page, "length");
      const last = page.locator(".scene").last();
      await last.getByLabel("Wait for").fill("7 min");
      await page.waitForFunction((old) => document.querySelector("[data-testid=length]")?.textContent !== old, before);
      await page.keyboard.press("Control+z");
      await page.waitForFunction((old) => document.querySelector("[data-testid=length]")?.textContent === old, before);
      expect(await last.getByLabel("Wait for").inputValue()).toBe("5 min");
      await page.getByRole("button", { name: "Redo" }).click();
      await last.getByRole("button", { name: "Earlier" }).click();
      await last.getByRole("button", { name: "Scene after this" }).click();
      await page.waitForFunction(() => document.activeElement?.closest(".scene")?.textContent?.includes("A new scene"));
      expect(await readFile(join(job.folder, "show.yaml"), "utf8")).toBe(script);
      await page.keyboard.press("Control+s");
      await page.getByText("not saved").waitFor({ state: "detached" });
      const saved = await readFile(join(job.folder, "show.yaml"), "utf8");
      expect(saved).toContain("# The show of the open day");
      expect(saved).toMatch(/wait: 7 min[\s\S]*A poem[\s\S]*A new scene/);
    });
  });

  it("is rehearsed on the machine, with the waits of that in the plan until the script is another", async () => {
    await onPage("#/show", async (page) => {
      await page.getByTestId("latest").waitFor();
      await page.getByRole("button", { name: "Rehearse it" }).click();
      await page.getByText("● All that is expected came.").waitFor({ timeout: 60_000 });
      const start = page.locator(".scene").nth(1).locator(".scene-told");
      await page.waitForFunction(() =>
        document.querySelectorAll(".scene-told")[1]?.textContent?.includes("by the timing"),
      );
      expect(await start.textContent()).toMatch(/wait 17\.\d s .*by the timing model 17\.\d s/);
      await page.getByRole("button", { name: "Put these waits into the script" }).click();
      const field = (name: string) => page.locator(".scene").nth(1).getByLabel(name).inputValue();
      expect(await field("Wait for")).toMatch(/^17\.\d s$/);
      expect(await field("Characters printed")).toBe("");
      await page.keyboard.press("Control+z");
      await page.locator(".scene").nth(2).getByLabel("Expect").fill("welcome home");
      await page.waitForFunction(() => !document.querySelector(".script")?.textContent?.includes("by the timing"));
      await page.getByRole("button", { name: "Rehearse it" }).click();
      await page.getByText("■ In “Logging in”, “welcome home” never came.").waitFor({ timeout: 60_000 });
    });
  }, 150_000);

  it("tells what is wrong by line, and asks where another program changed it too", async () => {
    await onPage("#/show", async (page) => {
      await page.getByTestId("latest").waitFor();
      await page.getByLabel("Text (show.yaml)").check();
      const text = page.getByLabel("Text of show.yaml");
      await text.fill(script.replace("wait: boot", "wait: forever"));
      await page.waitForSelector(".script-fault:has-text('line 17')");
      await text.fill(`${script}# mine\n`);
      await writeFile(join(job.folder, "show.yaml"), `${script}# theirs\n`);
      await page.getByRole("button", { name: "Save" }).click();
      await page.getByRole("button", { name: "Keep mine" }).click();
      await page.getByRole("button", { name: "Save" }).click();
      await page.getByText("not saved").waitFor({ state: "detached" });
      expect(await readFile(join(job.folder, "show.yaml"), "utf8")).toBe(`${script}# mine\n`);
    });
  });
});

describe("a captured session on the page", () => {
  const open = async (page: Page): Promise<void> => {
    await control(page, "Session").selectOption("first boot.jsonl");
    await page.getByTestId("player-screen").waitFor();
  };

  it("is gone to by keys and pointer, with waits cut, and plays", async () => {
    await onPage("#/show", async (page) => {
      await open(page);
      const screen = page.getByTestId("player-screen");
      expect(await told(page, "player-time")).toBe("0:00 of 1:24");
      await screen.focus();
      const shows = (what: RegExp) => vi.waitFor(async () => expect(await screen.textContent()).toMatch(what), 10_000);
      await page.keyboard.press("ArrowRight");
      await shows(/48 KiB <b>x<\/b>\s*$/);
      await page.keyboard.press("End");
      await shows(/Tern wakes\s+login: visitor\s+Welcome\.\s+tern:/);
      expect(await screen.locator(".r1").textContent()).toBe("Tern");
      // Another terminal shows the same place; its letters are large ones only.
      await control(page, "As shown by").selectOption("screen-64-upper");
      await shows(/TERN\S* WAKES\s+LOGIN: VISITOR\s+WELCOME\.\s+TERN:/);
      await control(page, "As shown by").selectOption("");
      await shows(/Tern wakes/);
      await screen.focus();
      await page.keyboard.press("Home");
      await shows(/^\s*$/);
      await page.getByLabel("Longest wait").selectOption("1");
      expect(await told(page, "player-time")).toBe("0:00 of 0:04");
      await page.getByLabel("Speed").selectOption("16");
      await screen.focus();
      await page.keyboard.press(" ");
      await page.waitForFunction(() =>
        document.querySelector("[data-testid=player-screen]")?.textContent?.includes("tern:"),
      );
      await page.getByRole("button", { name: "Play", exact: true }).waitFor();
      const rows = page.locator(".session table tbody tr");
      expect(await rows.nth(1).textContent()).toMatch(/The start.*login: /);
      expect(await rows.nth(3).textContent()).toContain("never came");
    });
  });

  it("is saved as page, captions, chapters, still and text, and captions agree with the camera", async () => {
    await onPage("#/show", async (page) => {
      await open(page);
      const save = async (name: RegExp): Promise<{ file: string; text: string }> => {
        const [download] = await Promise.all([
          page.waitForEvent("download"),
          page.getByRole("button", { name }).click(),
        ]);
        return { file: download.suggestedFilename(), text: await readFile(await download.path(), "utf8") };
      };
      const html = await save(/^Page that plays it/);
      expect([html.file, html.text.slice(0, 15)]).toEqual(["first boot.html", "<!doctype html>"]);
      await page.getByLabel(/^The camera's clock/).selectOption("clap");
      await page.getByRole("button", { name: /^Captions/ }).click();
      await page.waitForSelector("[data-testid=export-told][role=alert]");
      await page.getByLabel("The camera saw it at").fill("1:02");
      const captions = await save(/^Captions/);
      const { cues, errors } = new WebVTTParser().parse(captions.text, "metadata");
      expect(errors).toEqual([]);
      // The clap is at 2 s of the capture; the first line came a second before it.
      expect([cues[0]!.startTime, cues[0]!.text]).toEqual([61, "Larkfield 9\n48 KiB &lt;b&gt;x&lt;/b&gt;"]);
      const chapters = await save(/^Chapters/);
      expect(chapters.file).toBe("first boot-chapters.vtt");
      expect(new WebVTTParser().parse(chapters.text, "chapters").errors).toEqual([]);
      expect(chapters.text).toContain("The start");
      await page.getByTestId("player-screen").focus();
      await page.keyboard.press("End");
      const still = await save(/^Still/);
      expect(still.text).toMatch(/^<svg[\s\S]*Welcome\./);
      expect((await save(/^Plain text/)).text).toMatch(/^Larkfield 9\n48 KiB <b>x<\/b>\n/);
    });
  });
});

describe("the prompter", () => {
  it("follows the session as it is captured, and goes on and back by keys", async () => {
    await onPage("#/prompter", async (page) => {
      const title = page.locator(".prompter-scene h2");
      await page.getByRole("button", { name: "Begin" }).waitFor();
      await page.keyboard.press("PageDown");
      await page.keyboard.press("ArrowRight");
      expect(await title.textContent()).toBe("The start");
      await page.keyboard.press("PageUp");
      expect(await title.textContent()).toBe("Switching on");
      const path = join(job.folder, "captures/now.jsonl");
      await writeFile(path, head(new Date(Date.now() - 9000)) + line(1, "in", "Larkfield 9\r\n"));
      await page.waitForSelector("[data-testid=follows]:has-text('now.jsonl')");
      await appendFile(path, line(9, "in", "login: "));
      await page.waitForSelector("h2:has-text('Logging in')");
      expect(await page.locator(".prompter-type code").textContent()).toBe("visitor");
      expect(await told(page, "wait")).toMatch(/^about \d+:\d\d$|more$|now$/);
      await appendFile(path, line(12, "out", "visitor\r") + line(15, "in", "Welcome\r\ntern: "));
      await page.waitForSelector("h2:has-text('Its files')");
      await page.keyboard.press("ArrowLeft");
      expect(await title.textContent()).toBe("Logging in");
      expect(await told(page, "left")).toMatch(/^\d+:\d\d$/);
      expect(await told(page, "late")).toMatch(/on time|behind|ahead/);
    });
  });

  it("says what is wrong with the script", async () => {
    await writeFile(join(job.folder, "show.yaml"), "show: 1\n");
    await onPage("#/prompter", async (page) => {
      await page.waitForSelector(".prompter-problem:has-text('show.yaml, line 1')");
    });
  });
});

describe("these pages", () => {
  for (const colorScheme of ["light", "dark"] as const)
    it(`have no fault that axe finds and do not scroll sideways: ${colorScheme}`, async () => {
      for (const width of colorScheme === "light" ? [1440, 390] : [390])
        await onPage(
          "#/show/first%20boot.jsonl",
          async (page) => {
            await page.getByTestId("player-screen").waitFor();
            await page.getByTestId("latest").waitFor();
            await page.getByTestId("player-screen").focus();
            await page.keyboard.press("End");
            await noFault(page, "show", colorScheme);
            await page.getByLabel("Text (show.yaml)").check();
            await noFault(page, "show as text", colorScheme);
            await page.evaluate(() => {
              location.hash = "#/prompter";
            });
            await page.getByTestId("elapsed").waitFor();
            await noFault(page, "prompter", colorScheme);
          },
          { viewport: { width, height: 844 }, colorScheme },
        );
    });
});
