/** Makes the pictures for the README and the docs from the demo: node scripts/run.mjs packages/web/browser/screenshots.ts */
import { join } from "node:path";
import { serveJob, startBrowser, visit } from "./workbench.ts";

const docs = join(process.cwd(), "docs");
const [job, browser] = await Promise.all([serveJob("first-try"), startBrowser()]);
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
  console.log("docs/workbench.png and docs/workbench-image.png are made.");
} finally {
  await browser.close();
  await job.close();
}
