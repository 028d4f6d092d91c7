import { existsSync } from "node:fs";
import { cp, mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { openWorkbench } from "@rouse/node/server";
import { openJob } from "@rouse/node/store";
import { type Browser, type BrowserContext, type BrowserContextOptions, chromium, type Page } from "playwright-core";

/** The clone, from which the built page and the demo come; programs of the house run from its top. */
const root = existsSync("packages/web") ? process.cwd() : fileURLToPath(new URL("../../..", import.meta.url));

export interface OpenedWorkbench {
  /** Printed address, with its token. */
  address: string;
  /** The job folder, a copy that may be written. */
  folder: string;
  close(): Promise<void>;
}

/** Serves a copy of a demo job, or an empty folder that `fill` makes a job of. */
export async function serveJob(
  demo: string,
  fill?: (folder: string) => Promise<void>,
  options: Partial<Parameters<typeof openWorkbench>[1]> = {},
): Promise<OpenedWorkbench> {
  const webRoot = join(root, "packages/web/dist");
  if (!existsSync(webRoot)) throw new Error("The page is not built: run node scripts/build.mjs web first.");
  const folder = await mkdtemp(join(tmpdir(), "rouse-browser-"));
  await cp(join(root, "demo", demo), folder, { recursive: true });
  await fill?.(folder);
  const bench = await openWorkbench(await openJob(folder), {
    port: 0,
    webRoot,
    tellFault: (error) => console.error(error),
    ...options,
  });
  return {
    address: bench.address,
    folder,
    close: async () => {
      await bench.close();
      await rm(folder, { recursive: true, force: true });
    },
  };
}

export const startBrowser = (): Promise<Browser> =>
  chromium.launch({
    executablePath: "/usr/bin/chromium",
    args: [
      "--no-sandbox",
      "--disable-gpu",
      "--disable-quic",
      "--no-first-run",
      "--disable-background-networking",
      "--disable-component-update",
      "--disable-sync",
    ],
  });

export interface Visit {
  context: BrowserContext;
  page: Page;
  /** Hosts that the page asked anything of. */
  hosts: Set<string>;
  /** What the console and the page complained of. */
  complaints: string[];
}

/** Opens a page that notes every request and complaint. */
export async function visit(browser: Browser, address: string, options: BrowserContextOptions = {}): Promise<Visit> {
  const context = await browser.newContext(options);
  const page = await context.newPage();
  const hosts = new Set<string>();
  const complaints: string[] = [];
  page.on("request", (request) => {
    const url = new URL(request.url());
    if (url.protocol !== "data:" && url.protocol !== "blob:") hosts.add(url.host);
  });
  page.on("websocket", (socket) => hosts.add(new URL(socket.url()).host));
  page.on("console", (message) => {
    if (message.type() === "error" || message.type() === "warning") complaints.push(message.text());
  });
  page.on("pageerror", (error) => complaints.push(String(error)));
  await page.goto(address);
  return { context, page, hosts, complaints };
}
