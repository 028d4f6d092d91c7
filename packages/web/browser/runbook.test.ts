import { appendFile, mkdir, readdir, readFile, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { AxeBuilder } from "@axe-core/playwright";
import type { Browser, BrowserContextOptions, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type OpenedWorkbench, serveJob, startBrowser, visit } from "./workbench.ts";

/** A picture of one point (ISO/IEC 15948). */
const PNG = Buffer.from(
  "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==",
  "base64",
);
const photo = { name: "camera.png", mimeType: "image/png", buffer: PNG };
const RAIL = "supply-off-load/+5 V";

let browser: Browser;
let job: OpenedWorkbench;
beforeAll(async () => {
  const fill = async (folder: string): Promise<void> => {
    await mkdir(join(folder, "captures"));
    await writeFile(join(folder, "captures/first-boot.jsonl"), "{}\n");
  };
  [browser, job] = await Promise.all([
    startBrowser(),
    serveJob("mended", fill, { phones: { networks: () => [{ address: "127.0.0.1", prefix: 8 }], port: 0 } }),
  ]);
});
afterAll(async () => {
  await browser?.close();
  await job?.close();
});

const logged = async (): Promise<Record<string, unknown>[]> =>
  (await readFile(join(job.folder, "log.jsonl"), "utf8").catch(() => ""))
    .split("\n")
    .filter(Boolean)
    .map((line) => JSON.parse(line) as Record<string, unknown>);
/** Waits until the log has so many entries for a step. */
async function entriesAt(step: string, count: number): Promise<Record<string, unknown>[]> {
  for (let k = 0; k < 200; k++) {
    const found = (await logged()).filter((each) => each.step === step);
    if (found.length >= count) return found;
    await new Promise((done) => setTimeout(done, 50));
  }
  throw new Error(`the log never had ${count} entries for ${step}`);
}
const card = (page: Page, step: string) => page.locator(`[data-step="${step}"]`);
const opened = async (page: Page, step: string) => {
  const found = card(page, step);
  await found.waitFor();
  if ((await found.locator(".step-head").getAttribute("aria-expanded")) === "false")
    await found.locator(".step-head").click();
  return found;
};

async function onPage(
  run: (page: Page) => Promise<void>,
  options: BrowserContextOptions = { viewport: { width: 1440, height: 900 } },
): Promise<void> {
  const found = await visit(browser, job.address, options);
  try {
    await found.page.evaluate(() => {
      location.hash = "#/runbook";
    });
    await found.page.getByTestId("progress").waitFor();
    await run(found.page);
    expect([...found.hosts]).toEqual([new URL(job.address).host]);
    expect(found.complaints).toEqual([]);
  } finally {
    await found.context.close();
  }
}

/** Lets a phone in by the page, and gives its page. Complaints about what was refused or lost are the browser's own. */
async function onPhone(run: (phone: Page, desk: Page) => Promise<void>, options: BrowserContextOptions = {}) {
  await onPage(async (desk) => {
    const panel = desk.locator(".phones");
    if ((await panel.getAttribute("open")) === null) await panel.locator("summary").click();
    const ask = panel.getByLabel("I have read this, and trust this network");
    await panel.locator(".phone-ask, .phone-address").first().waitFor();
    if ((await ask.count()) > 0) {
      expect(await panel.getByRole("button", { name: "Let a phone in" }).isDisabled()).toBe(true);
      await ask.check();
      await panel.getByRole("button", { name: "Let a phone in" }).click();
    } else await panel.getByRole("button", { name: "New code" }).click();
    const code = (await panel.locator(".phone-code").textContent()) ?? "";
    const address = (await panel.locator(".phone-address").textContent()) ?? "";
    const found = await visit(browser, address, {
      viewport: { width: 390, height: 780 },
      hasTouch: true,
      isMobile: true,
      ...options,
    });
    try {
      await found.page.getByLabel("Code of six digits").fill(code);
      await found.page.getByRole("button", { name: "Pair" }).click();
      await found.page.locator(".phone-bar").waitFor();
      await run(found.page, desk);
      expect([...found.hosts]).toEqual([new URL(address).host]);
    } finally {
      await found.context.close();
    }
  });
}

describe("the run book page", () => {
  it("compares a reading while it is typed, ticks by keys alone, and takes back", async () => {
    await onPage(async (page) => {
      const rail = await opened(page, RAIL);
      const field = rail.getByLabel(/^rail \+5 V/);
      await field.fill("4.1");
      expect(await rail.locator(".reading-told").textContent()).toContain("outside 4.75 V to 5.25 V");
      await page.keyboard.press("Enter");
      expect((await entriesAt(RAIL, 1))[0]).toMatchObject({ what: "reading", reading: "4.1 V" });
      await rail.locator(".evidence:has-text('4.1 V')").waitFor();
      expect(await rail.getAttribute("class")).toContain("is-open");
      await field.fill("5.02 V");
      expect(await rail.locator(".reading-told").textContent()).toContain("within 4.75 V to 5.25 V");
      await field.focus();
      await page.keyboard.press("Enter");
      await page.locator(`[data-step="${RAIL}"].is-done`).waitFor();
      // The next step is open and has the focus.
      await page.waitForFunction(() => document.activeElement?.classList.contains("step-head"));
      expect(await page.evaluate(() => document.activeElement?.closest("li")?.dataset.step)).toBe(
        "supply-off-load/+12 V",
      );
      await page.getByTestId("undo").getByRole("button", { name: "Undo" }).focus();
      await page.keyboard.press("Enter");
      await page.locator(`[data-step="${RAIL}"].is-open`).waitFor();
      expect((await entriesAt(RAIL, 3)).map(({ what }) => what)).toEqual(["reading", "tick", "reopen"]);
    });
  });

  it("keeps notes, photographs and captures as evidence", async () => {
    await onPage(async (page) => {
      const step = await opened(page, "inspect-case");
      await step.getByLabel("Note").fill("<b>dust</b> & a loose screw");
      await step.getByRole("button", { name: "Keep the note" }).click();
      const input = step.locator("input[type=file]");
      expect([await input.getAttribute("capture"), await input.getAttribute("accept")]).toEqual([
        "environment",
        "image/*",
      ]);
      await input.setInputFiles(photo);
      await step.locator(".evidence img").waitFor();
      await step.getByLabel("A capture or another file of the job").selectOption("captures/first-boot.jsonl");
      const entries = await entriesAt("inspect-case", 3);
      expect(await step.locator(".evidence-note").textContent()).toBe("<b>dust</b> & a loose screw");
      const names = await readdir(join(job.folder, "dossier/photos"));
      expect(names).toHaveLength(1);
      expect(Buffer.compare(await readFile(join(job.folder, "dossier/photos", names[0]!)), PNG)).toBe(0);
      expect(entries.map(({ file }) => (file as { path?: string } | undefined)?.path)).toEqual([
        undefined,
        `dossier/photos/${names[0]}`,
        "captures/first-boot.jsonl",
      ]);
      const drawn = await step
        .locator(".evidence img")
        .evaluate((picture: HTMLImageElement) => picture.decode().then(() => picture.naturalWidth));
      expect(drawn).toBe(1);
      await step
        .locator("input[type=file]")
        .setInputFiles({ ...photo, mimeType: "text/plain", buffer: Buffer.from("no") });
      await step.locator("text=This browser cannot read that picture").waitFor();
    });
  });

  it("marks ticks that no longer hold, and follows what others log", async () => {
    await onPage(async (page) => {
      const id = "caution/static";
      const first = page.locator(".stage.is-cautions .step").first();
      const step = (await first.getAttribute("data-step")) ?? id;
      await first.locator(".tick-form button").click();
      await page.locator(`[data-step="${step}"].is-done`).waitFor();
      const rail = await opened(page, RAIL);
      await rail.getByLabel(/^rail \+5 V/).fill("5");
      await rail.getByRole("button", { name: "Tick" }).click();
      await page.locator(`[data-step="${RAIL}"].is-done`).waitFor();
      const path = join(job.folder, "bench.yaml");
      const bench = await readFile(path, "utf8");
      await writeFile(path, bench.replace("voltage: 5 V", "voltage: 5.1 V"));
      await page.locator(`[data-step="${RAIL}"].is-no-longer-holds`).waitFor();
      expect(await card(page, RAIL).locator(".step-remark").textContent()).toContain("the bench has changed since");
      expect(await page.getByTestId("progress").textContent()).toContain("1 no longer holds");
      await writeFile(path, bench);
      await page.locator(`[data-step="${RAIL}"].is-done`).waitFor();
      const entry = (await entriesAt(step, 1))[0]!;
      await appendFile(
        join(job.folder, "log.jsonl"),
        `${JSON.stringify({ ...entry, id: "from-elsewhere", what: "reopen", at: new Date().toISOString() })}\n`,
      );
      await page.locator(`[data-step="${step}"].is-open`).waitFor();
    });
  });

  it("prints as a checklist: every step open, nothing to press", async () => {
    await onPage(async (page) => {
      await page.emulateMedia({ media: "print" });
      const count = await page.locator(".step").count();
      expect(await page.locator(".step-body:visible").count()).toBe(count);
      expect(await page.locator(".by-hand:visible").count()).toBe(count);
      expect(
        await page.locator(".tick-form:visible, .more-evidence:visible, .phones:visible, .top:visible").count(),
      ).toBe(0);
    });
  });
});

describe("a phone", () => {
  it("is paired by the code of the page, adds entries, and is unpaired", async () => {
    await onPhone(async (phone, desk) => {
      await phone.getByRole("button", { name: "All steps" }).click();
      await phone.locator(".phone-row", { hasText: "Ring" }).first().click();
      const step = (await phone.locator("h1").textContent()) ?? "";
      await phone.getByRole("button", { name: "Tick", exact: true }).tap();
      await desk.locator(".step.is-done", { hasText: step }).waitFor();
      await desk
        .getByRole("button", { name: /^Unpair/ })
        .first()
        .click();
      await phone.getByLabel("Code of six digits").waitFor();
      await phone.getByLabel("Code of six digits").fill("000000");
      await phone.getByRole("button", { name: "Pair" }).click();
      await phone.locator("[role=alert]").waitFor();
    });
  });

  it("keeps entries without a connection, and merges them once when it is back", async () => {
    await onPhone(async (phone, desk) => {
      await phone.getByRole("button", { name: "All steps" }).click();
      await phone.locator(".phone-row", { hasText: "Measure +12 V off load" }).click();
      await phone.context().setOffline(true);
      await phone.getByLabel(/^rail \+12 V/).fill("12.1");
      await phone.getByRole("button", { name: "Tick", exact: true }).tap();
      // It shows the next step, and says that the computer is away.
      await phone.waitForFunction(() => !document.querySelector("h1")?.textContent?.includes("+12 V"));
      await phone.getByTestId("waiting").getByText("No connection to the computer").waitFor();
      await phone.getByRole("button", { name: "Step before" }).tap();
      await phone.getByLabel("Note").fill("warm after a minute");
      await phone.getByRole("button", { name: "Keep the note" }).tap();
      await phone.locator("input[type=file]").setInputFiles(photo);
      await phone.getByText("3 entries wait to be sent").waitFor();
      expect(await phone.getByText("photograph, not sent yet").count()).toBe(1);
      // It is kept outside the page's memory, and the page cannot be loaded without the computer.
      const kept = await phone.evaluate(
        () =>
          new Promise<number>((told) => {
            const opening = indexedDB.open("rouse-run-book");
            opening.onsuccess = () => {
              const counting = opening.result.transaction("entries").objectStore("entries").count();
              counting.onsuccess = () => told(counting.result);
            };
          }),
      );
      expect(kept).toBe(3);
      expect((await logged()).filter(({ step }) => step === "supply-off-load/+12 V")).toEqual([]);
      await phone.context().setOffline(false);
      const entries = await entriesAt("supply-off-load/+12 V", 3);
      await phone.getByText("entries wait to be sent").waitFor({ state: "detached" });
      await new Promise((done) => setTimeout(done, 600));
      expect((await entriesAt("supply-off-load/+12 V", 3)).length).toBe(3);
      expect(entries.map(({ what }) => what)).toEqual(["tick", "note", "file"]);
      expect(new Set(entries.map(({ id }) => id)).size).toBe(3);
      await desk.locator('[data-step="supply-off-load/+12 V"].is-done').waitFor();
    });
  });

  for (const colorScheme of ["light", "dark"] as const)
    it(`has large targets and no fault that axe finds: ${colorScheme}`, async () => {
      await onPhone(
        async (phone) => {
          const look = async (what: string): Promise<void> => {
            const axe = new AxeBuilder({ page: phone });
            const { violations } = await (colorScheme === "light" ? axe : axe.withRules(["color-contrast"])).analyze();
            expect(
              violations.map(({ id, nodes }) => `${id}: ${nodes.map((each) => each.html).join("\n")}`),
              what,
            ).toEqual([]);
            const [needs, has] = await phone.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
            expect(needs, what).toBeLessThanOrEqual(has ?? 0);
            // 44 CSS pixels: WCAG 2.2, 2.5.5.
            const small = await phone.evaluate(() =>
              [...document.querySelectorAll("button, .photo-button")]
                .map((each) => ({ text: each.textContent, box: each.getBoundingClientRect() }))
                .filter(({ box }) => box.height > 0 && (box.height < 44 || box.width < 44))
                .map(({ text }) => text),
            );
            expect(small, what).toEqual([]);
          };
          await phone.getByRole("button", { name: "All steps" }).click();
          await look("all steps");
          await phone.locator(".phone-row", { hasText: "-12 V on load" }).first().click();
          await phone.getByLabel(/^rail/).fill("-3");
          await look("a step");
          await phone.getByRole("button", { name: "Prompter" }).click();
          await phone.getByRole("button", { name: "Begin" }).waitFor();
          await look("the prompter");
        },
        { colorScheme },
      );
    });
});

describe("the run book page for everyone", () => {
  for (const colorScheme of ["light", "dark"] as const)
    it(`has no fault that axe finds and does not scroll sideways: ${colorScheme}`, async () => {
      for (const width of colorScheme === "light" ? [1440, 390] : [390])
        await onPage(
          async (page) => {
            await page.locator(".phones summary").click();
            const rail = await opened(page, "supply-on-load/+5 V");
            await rail.getByLabel(/^rail/).fill("9");
            const axe = new AxeBuilder({ page });
            // In the dark nothing but the colours differs.
            const { violations } = await (colorScheme === "light" ? axe : axe.withRules(["color-contrast"])).analyze();
            expect(violations.map(({ id, nodes }) => `${id}: ${nodes.map((each) => each.html).join("\n")}`)).toEqual(
              [],
            );
            const [needs, has] = await page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
            expect(needs).toBeLessThanOrEqual(has ?? 0);
          },
          { viewport: { width, height: 844 }, colorScheme },
        );
    });
});
