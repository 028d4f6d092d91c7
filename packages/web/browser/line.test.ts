import { readFile, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { AxeBuilder } from "@axe-core/playwright";
import { capturedBytes, readCapture } from "@rouse/core/show";
import type { Browser, Page } from "playwright-core";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { DoublePort } from "../../node/src/devices/line/testkit/double.ts";
import { type Pty, Ptys } from "../../node/src/devices/line/testkit/pty.ts";
import { type OpenedWorkbench, serveJob, startBrowser, visit } from "./workbench.ts";

type Lines = NonNullable<NonNullable<Parameters<typeof serveJob>[2]>["lines"]>;

let browser: Browser;
let job: OpenedWorkbench;
let ptys: Ptys;
/** A port whose far side is this test, as a real pty. */
let near: Pty;
let got = "";
/** A port with control lines and a loopback plug, which a pty has not. */
const plug = new DoublePort("/dev/plug");

beforeAll(async () => {
  const { realLines } = await import("../../node/src/server/line-desk.ts");
  ptys = new Ptys();
  near = await ptys.open("near", (bytes) => {
    got += Buffer.from(bytes).toString("latin1");
  });
  const lines: Lines = {
    list: async () => [
      { path: near.path, about: "a pair of pseudo-terminals" },
      { path: plug.path, about: "an adapter with a plug", serial: "L1" },
    ],
    make: (path) => (path === plug.path ? plug : realLines.make(path)),
    demandPort: (path) => (path === plug.path ? Promise.resolve() : realLines.demandPort(path)),
  };
  [browser, job] = await Promise.all([startBrowser(), serveJob("mended", undefined, { lines })]);
});
afterAll(async () => {
  await browser?.close();
  await job?.close();
  await ptys?.clear();
});

const WIDE = { viewport: { width: 1440, height: 1000 } };

/** Runs with a page of its own, which must have asked no other host and complained of nothing. */
async function onLine(
  port: string,
  run: (page: Page) => Promise<void>,
  options: Parameters<typeof visit>[2] = WIDE,
  complaints: readonly string[] = [],
): Promise<void> {
  const opened = await visit(browser, job.address, options);
  try {
    await opened.page.evaluate(
      (to) => {
        location.hash = to;
      },
      `#/line?${new URLSearchParams({ port })}`,
    );
    await opened.page.waitForSelector("[role=tablist]");
    await run(opened.page);
    expect([...opened.hosts]).toEqual([new URL(job.address).host]);
    expect(opened.complaints.filter((each) => !complaints.some((known) => each.includes(known)))).toEqual([]);
  } finally {
    // The session is the server's: it would go on.
    await opened.page
      .evaluate(
        (body) => fetch("/api/line/close", { method: "POST", headers: { "content-type": "application/json" }, body }),
        JSON.stringify({ port }),
      )
      .catch(() => undefined);
    await opened.context.close();
  }
}

async function openPort(page: Page, settings: { rate?: string; frame?: string } = {}): Promise<void> {
  const { rate = "115200", frame = "8N1" } = settings;
  await page.getByLabel("Rate, bit/s", { exact: true }).fill(rate);
  await page.getByLabel("Data bits, parity, stop bits").first().selectOption(frame);
  await page.getByRole("button", { name: "Open the port" }).click();
  await page.locator(".line-screen .xterm-rows").waitFor();
}
const closePort = async (page: Page): Promise<void> => {
  await page.getByRole("button", { name: "Close the port" }).click();
  await page.getByRole("button", { name: "Open the port" }).waitFor();
};
const shown = async (page: Page): Promise<string> =>
  (await page.locator(".line-screen .xterm-rows > div").allTextContents()).join("\n").replaceAll("\u00a0", " ");
const waitShown = (page: Page, words: string): Promise<unknown> =>
  page.waitForFunction(
    (all) => document.querySelector(".xterm-rows")?.textContent?.replaceAll("\u00a0", " ").includes(all),
    words,
  );
async function untilGot(words: string): Promise<void> {
  for (let waited = 0; !got.includes(words); waited += 10) {
    if (waited > 5000) throw new Error(`never came: ${words}; got ${JSON.stringify(got)}`);
    await new Promise((resolve) => setTimeout(resolve, 10));
  }
}
const keysOf = (page: Page) => page.locator(".xterm-helper-textarea");

describe("a session on the line page", () => {
  it("has the real columns and rows, shows what comes, and sends what is typed", async () => {
    await onLine(near.path, async (page) => {
      await openPort(page);
      await page.waitForSelector("section[aria-label='Screen of 40 columns and 24 rows']");
      near.send(Buffer.from(`${"=".repeat(43)}\r\nlogin: `));
      await waitShown(page, "login:");
      // The 41st character stands on the second row.
      expect((await shown(page)).split("\n").slice(0, 3)).toEqual([
        "=".repeat(40),
        "===",
        expect.stringMatching(/^login:/),
      ]);
      got = "";
      await keysOf(page).focus();
      await page.keyboard.type("guest");
      await page.keyboard.press("Backspace");
      await page.keyboard.press("Enter");
      await page.keyboard.press("Control+c");
      await untilGot("guest\b\r\u0003");
      expect(await shown(page)).not.toContain("guest");
      await page.getByLabel("Local echo").check();
      await keysOf(page).focus();
      await page.keyboard.type("echoed");
      await waitShown(page, "login: echoed");
      await page.getByLabel("Local echo").uncheck();
      // Tab goes to the line; Ctrl + . leaves the screen.
      await keysOf(page).focus();
      await page.keyboard.press("Tab");
      await untilGot("echoed\t");
      await page.keyboard.press("Control+.");
      expect(await page.evaluate(() => document.activeElement?.textContent)).toBe("Paste");
      await closePort(page);
    });
  });

  it("takes nothing from the line as a part of the page", async () => {
    await onLine(near.path, async (page) => {
      await openPort(page);
      near.send(
        Buffer.from("<img src=x onerror=hurt()>\r\n\u001b]0;<script>hurt()</script>\u0007\u001b]52;c;aGk=\u0007done"),
      );
      await waitShown(page, "done");
      expect(await shown(page)).toContain("<img src=x onerror=hurt()>");
      await page.getByRole("radio", { name: "Both" }).check();
      await page.getByRole("row").filter({ hasText: "3C 69 6D 67" }).waitFor();
      expect(await page.locator("main img").count()).toBe(0);
      expect(await page.title()).toBe("Line · Rouse");
      await page.getByRole("radio", { name: "Text" }).check();
    });
  });

  it("is one session in several windows, of which one answers a program's question", async () => {
    await onLine(near.path, async (page) => {
      await openPort(page);
      await onLine(near.path, async (second) => {
        near.send(Buffer.from("both see this\r\n"));
        await Promise.all([waitShown(page, "both see this"), waitShown(second, "both see this")]);
        await page.waitForSelector("text=2 windows look at it");
        got = "";
        // DSR 6 asks for the place of the cursor (ECMA-48 8.3.35); the answer is CPR.
        near.send(Buffer.from("\u001b[6n"));
        await untilGot("\u001b[");
        await new Promise((resolve) => setTimeout(resolve, 200));
        expect(got).toMatch(/^\u001b\[\d+;1R$/);
        await second.getByRole("button", { name: "Close the port" }).click();
      });
      await page.getByRole("button", { name: "Open the port" }).waitFor();
    });
  });

  it("loses no byte of a stream at 115,200 bit/s while the page is reloaded", async () => {
    await onLine(near.path, async (page) => {
      await openPort(page);
      const seconds = 4;
      const lines = Array.from(
        { length: Math.floor((11_520 * seconds) / 16) },
        (_, at) => `line ${String(at).padStart(9, "0")}\r\n`,
      );
      const all = Buffer.from(lines.join(""));
      // 1,152 characters in a tenth of a second.
      const sending = (async () => {
        for (let at = 0; at < all.length; at += 1152) {
          near.send(all.subarray(at, at + 1152));
          await new Promise((resolve) => setTimeout(resolve, 100));
        }
      })();
      for (let count = 0; count < 3; count++) {
        await new Promise((resolve) => setTimeout(resolve, 600));
        await page.reload();
        await page.locator(".line-screen .xterm-rows").waitFor();
      }
      await sending;
      await waitShown(page, lines.at(-1)!.trim());
      // The page has every byte: what the server counted is what the page's rows of hex end at.
      expect(await page.getByText("passed while this page was away").count()).toBe(0);
      await page.waitForSelector(`[data-testid=counts]:has-text("${all.length.toLocaleString("en-GB")} bytes in")`);
      await page.getByRole("radio", { name: "Hex" }).check();
      const rows = await page.locator(".line-hex tbody tr td:last-child").allTextContents();
      expect(rows.join("").replaceAll(".", "")).toBe(
        lines.slice(-rows.length).join("").replaceAll("\r\n", "").slice(-rows.join("").replaceAll(".", "").length),
      );
      await page.getByRole("radio", { name: "Text" }).check();
      const name = (await page.locator(".line-capture").textContent())!.replace("Kept in ", "");
      await closePort(page);
      const capture = readCapture(await readFile(join(job.folder, name)));
      expect(Buffer.from(capturedBytes(capture, "in").bytes).equals(all)).toBe(true);
    });
  });

  it("shows and switches control lines, sends a break, and comes back after a pulled adapter", async () => {
    await onLine(plug.path, async (page) => {
      await openPort(page);
      await page.waitForSelector(".line-lamp.is-on:has-text('DSR')");
      await page.getByText("DTR", { exact: true }).click();
      await page.waitForSelector(".line-lamp:not(.is-on):has-text('DSR')");
      expect(plug.lines).toEqual({ dtr: false, rts: true });
      await page.getByText("DTR", { exact: true }).click();
      await page.getByLabel("How long the break lasts").selectOption("500");
      await page.getByRole("button", { name: "Send break" }).click();
      await expect.poll(() => plug.breaks, { timeout: 20_000 }).toEqual([500]);
      await page.waitForFunction(() => !document.querySelector("[role=alert]"));
      plug.pull();
      await page.waitForSelector("text=not plugged in; it is opened again when it is back");
      plug.plugIn();
      await page.waitForSelector(".line-state.is-open");
      await keysOf(page).focus();
      await page.keyboard.type("again");
      await waitShown(page, "again");
    });
  });

  it("pastes at a pace, from the panel and into the screen, and can be stopped", async () => {
    await onLine(near.path, async (page) => {
      await openPort(page);
      got = "";
      await page.getByLabel("Text to send").fill("10 PRINT 1\n20 END\n");
      await page.getByRole("button", { name: "Send at this pace" }).click();
      await untilGot("10 PRINT 1\r20 END\r");
      await page.getByLabel("After each line, ms").fill("5000");
      await page.evaluate(() => {
        const data = new DataTransfer();
        data.setData("text/plain", "ONE\nTWO\n");
        document
          .querySelector(".xterm-helper-textarea")
          ?.dispatchEvent(new ClipboardEvent("paste", { clipboardData: data, bubbles: true, cancelable: true }));
      });
      await untilGot("ONE\r");
      await page.getByRole("button", { name: "Stop" }).click();
      await page.getByTestId("transfer-end").waitFor();
      expect(got).not.toContain("TWO");
    });
  });
});

describe("files on the line page", () => {
  it("go to Debian's rx and come from its sx, with progress", async () => {
    const bytes = Buffer.from(Uint8Array.from({ length: 20_000 }, (_, at) => (at * 7 + (at >> 8)) & 0xff));
    const there = join(ptys.folder, "there.bin");
    // It writes only into the folder it is in.
    await writeFile(join(ptys.folder, "rx.sh"), `cd ${ptys.folder} && exec rx -q -c there.bin\n`);
    const far = await ptys.program("rx", `sh ${join(ptys.folder, "rx.sh")}`);
    await onLine(far.path, async (page) => {
      await openPort(page);
      await page.getByRole("tab", { name: "Files" }).click();
      await page
        .getByLabel("A file of this computer")
        .setInputFiles({ name: "game.bin", mimeType: "application/octet-stream", buffer: bytes });
      await page.getByRole("button", { name: "Send", exact: true }).click();
      await page.waitForSelector("[data-testid=transfer-end]:has-text('Sent: game.bin')");
      // Not one character of the protocol stands on the screen.
      expect((await shown(page)).trim()).toBe("");
    });
    // Filled up to whole blocks of 128.
    expect((await readFile(there)).subarray(0, bytes.length).equals(bytes)).toBe(true);
    await writeFile(there, bytes);
    const from = await ptys.program("sx", `sx -q ${there}`);
    await onLine(from.path, async (page) => {
      await openPort(page);
      await page.getByRole("tab", { name: "Files" }).click();
      await page.getByLabel("Save as").fill("got.bin");
      await page.getByRole("button", { name: "Receive", exact: true }).click();
      await page.waitForSelector("[data-testid=transfer-end]:has-text('Received: got.bin, 20,096 bytes')");
      await page.getByRole("link", { name: "got.bin" }).waitFor();
    });
    expect((await readFile(join(job.folder, "received/got.bin"))).subarray(0, bytes.length).equals(bytes)).toBe(true);
  });

  it("are stopped with a word on how far they got", async () => {
    await onLine(near.path, async (page) => {
      await openPort(page);
      await page.getByRole("tab", { name: "Files" }).click();
      await page.getByLabel("Or an image of the job").selectOption("tern.img");
      await page.getByRole("button", { name: "Send", exact: true }).click();
      await page.waitForSelector("[data-testid=work]:has-text('Waiting for the other end')");
      await page.waitForSelector("text=While a file is under way, keys are not sent.");
      await page.getByRole("button", { name: "Stop" }).click();
      await page.waitForSelector("[role=alert]:has-text('Cancelled here.')");
    });
  });
});

describe("the line itself", () => {
  it("is tested by a plug, with the numbers", async () => {
    await onLine(plug.path, async (page) => {
      await page.getByRole("tab", { name: "Line test" }).click();
      await page.getByLabel("Highest rate, bit/s").fill("19200");
      await page.getByLabel("At each rate, s").fill("0.05");
      await page.getByRole("button", { name: "Test the line" }).click();
      const verdict = await page.getByTestId("verdict").textContent();
      expect(verdict).toContain("Line good to 19,200 bit/s, the highest that was tried.");
      expect(verdict).toContain("DTR is followed by DSR, DCD");
      const table = page.getByRole("table", { name: "What came back at each rate" });
      expect(await table.locator("tbody tr").count()).toBe(17);
    });
  });

  it("is told at which rate it talks, and talked to at that", async () => {
    await onLine(near.path, async (page) => {
      await page.getByRole("tab", { name: "Which rate?" }).click();
      const talking = setInterval(
        () => near.send(Buffer.from("Tern 1.2 ready\r\nlogin: guest of the open day\r\n")),
        50,
      );
      try {
        await page.getByRole("button", { name: "Listen" }).click();
        await page.waitForSelector(".line-best:has-text('8N1')");
        expect(await page.locator(".line-best pre").textContent()).toContain("login: guest of the open day");
        await page.getByRole("button", { name: "Talk at these settings" }).click();
        await waitShown(page, "login: guest");
      } finally {
        clearInterval(talking);
      }
    });
  });

  it("has its cable drawn, designed anew, and listed for the tester", async () => {
    await onLine(plug.path, async (page) => {
      await page.getByRole("tab", { name: "Cable" }).click();
      await page.getByLabel("Made").selectOption("without handshake");
      const drawing = page.locator(".line-drawing");
      await drawing.waitFor();
      await page.waitForFunction(() => (document.querySelector(".line-drawing") as HTMLImageElement).naturalWidth > 0);
      await page.getByText("console 2 – stage terminal 3").waitFor();
      expect(await page.getByRole("heading", { name: "These must beep" }).count()).toBe(1);
      expect(await drawing.getAttribute("alt")).toContain("terminal cable");
    });
  });

  it("names a port that is none in one sentence", async () => {
    await onLine(
      "/dev/null",
      async (page) => {
        await page.getByRole("button", { name: "Open the port" }).click();
        await page.waitForSelector("[role=alert]:has-text('/dev/null is not a serial port.')");
      },
      WIDE,
      ["status of 422"],
    );
  });
});

describe("the line page for everyone", () => {
  for (const [colorScheme, width, tabs] of [
    ["light", 1440, ["Files", "Cable"]],
    ["dark", 390, ["Line test", "Screen and keys"]],
  ] as const)
    it(`has no fault that axe finds, ${colorScheme}, ${width} px wide`, async () => {
      const options = { viewport: { width, height: 900 }, colorScheme, reducedMotion: "reduce" as const };
      await onLine(
        near.path,
        async (page) => {
          const noneWider = async (): Promise<void> => {
            const wider = await page.evaluate(
              () => document.documentElement.scrollWidth > document.documentElement.clientWidth,
            );
            expect(wider).toBe(false);
          };
          const look = async (): Promise<void> => {
            const { violations } = await new AxeBuilder({ page }).include(".line-page").analyze();
            expect(violations.map(({ id, nodes }) => `${id}: ${nodes[0]?.html}`)).toEqual([]);
          };
          await look();
          await openPort(page);
          near.send(Buffer.from("\u001b[31mred\u001b[32mgreen\u001b[33myellow\u001b[44mblue\u001b[0m plain\r\n"));
          await waitShown(page, "plain");
          await page.getByRole("radio", { name: "Both" }).check();
          for (const tab of ["Paste", "Files", "Which rate?", "Line test", "Cable", "Screen and keys"]) {
            await page.getByRole("tab", { name: tab }).click();
            if (tab === "Cable") await page.locator(".line-drawing").waitFor();
            await noneWider();
            if (tabs.some((each) => each === tab)) await look();
          }
          await page.getByRole("radio", { name: "Text" }).check();
        },
        options,
      );
    });
});
