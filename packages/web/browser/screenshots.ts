/** Makes the pictures for the README and the docs from the demo: node scripts/run.mjs packages/web/browser/screenshots.ts */
import { join } from "node:path";
import { serveJob, startBrowser, visit } from "./workbench.ts";

const docs = join(process.cwd(), "docs");
const [job, mended, browser] = await Promise.all([serveJob("first-try"), serveJob("mended"), startBrowser()]);
try {
  const { page } = await visit(browser, job.address, {
    viewport: { width: 1440, height: 900 },
    colorScheme: "light",
    reducedMotion: "reduce",
  });
  // The cautions were read: one line of them stays.
  await page.getByRole("button", { name: "I have read these" }).click();
  await page.locator('[data-link="drive"]').click();
  await page.mouse.move(0, 0);
  await page.waitForSelector("#findings");
  await page.screenshot({ path: join(docs, "workbench.png") });
  await page.evaluate(() => {
    location.hash = "#/images/tern.img";
  });
  await page.waitForSelector(".tree-row");
  await page.locator(".tree-row").nth(1).click();
  await page.waitForSelector("#file-title");
  await page.waitForTimeout(500);
  await page.screenshot({ path: join(docs, "workbench-image.png") });

  const { page: other } = await visit(browser, mended.address, {
    viewport: { width: 1440, height: 1340 },
    colorScheme: "light",
    reducedMotion: "reduce",
  });
  await other.evaluate(() => {
    location.hash = "#/rehearse";
  });
  await other.getByRole("button", { name: "Switch it on" }).click();
  await other.getByLabel("As fast as it goes").check();
  /** Types at the stage terminal and waits for an answer. */
  const say = async (text: string, answer: string): Promise<void> => {
    if (text !== "") await other.getByLabel("Keyboard of stage terminal").pressSequentially(`${text}\n`);
    await other.waitForFunction((wanted) => document.querySelector(".screen")?.textContent?.includes(wanted), answer, {
      timeout: 120_000,
    });
  };
  await say("", "login:");
  await say("visitor", "tern:");
  await say("text poem", "leaves the next its place below");
  await other.getByRole("button", { name: "Keep this moment" }).click();
  await other.getByRole("button", { name: "Pause" }).click();
  await other.locator(".rehearse-why", { hasText: "Paused" }).waitFor();
  await other.mouse.move(0, 0);
  await other.evaluate(() => window.scrollTo(0, 0));
  await other.screenshot({ path: join(docs, "workbench-rehearse.png") });
  console.log("docs/workbench.png, docs/workbench-image.png and docs/workbench-rehearse.png are made.");
} finally {
  await browser.close();
  await Promise.all([job.close(), mended.close()]);
}
