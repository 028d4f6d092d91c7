import { execFileSync, spawnSync } from "node:child_process";
import { createHash } from "node:crypto";
import {
  appendFileSync,
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import type { Dossier } from "@rouse/core/dossier";
import { captureHead, captureLine } from "@rouse/core/show";
import { afterAll, beforeAll, describe, expect, it } from "vitest";

const ROOT = fileURLToPath(new URL("../../../..", import.meta.url));
const ROUSE = join(ROOT, "packages/node/bin/rouse.js");
const CHROMIUM = "/usr/bin/chromium";
/** The smallest PNG there is: one transparent point. */
const PNG = Buffer.from(
  "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNkYPhfDwAChwGA60e6kgAAAABJRU5ErkJggg==",
  "base64",
);
const ascii = (text: string) => new Uint8Array(Buffer.from(text, "latin1"));
const sha256 = (bytes: Uint8Array) => createHash("sha256").update(bytes).digest("hex");

let top: string;
const rouse = (...args: string[]) => spawnSync(process.execPath, [ROUSE, ...args], { cwd: top, encoding: "utf8" });
const done = (...args: string[]) => expect(rouse(...args), args.join(" ")).toMatchObject({ status: 0 });
let dossier: Dossier;
let html: string;

/** A bring-up as it might have gone: readings good and bad, a photograph, a disk, test programs, a search. */
beforeAll(() => {
  top = mkdtempSync(join(tmpdir(), "rouse-pack-"));
  cpSync(join(ROOT, "demo/mended"), join(top, "job"), { recursive: true });
  mkdirSync(join(top, "job/dossier/photos"), { recursive: true });
  mkdirSync(join(top, "job/captures"));
  writeFileSync(join(top, "job/dossier/photos/U1 before.png"), PNG);
  const session = [
    captureHead({ started: "2026-06-06T10:00:00.000Z", port: "console", rate: 2400, frame: "7E1" }),
    captureLine({ t: 1, in: ascii("BEGIN E604\r\nA GOOD\r\nB BAD\r\nB3 G5D W55 A1234\r\nEND BAD\r\n") }),
    captureLine({ t: 60, out: ascii("again\r") }),
  ];
  writeFileSync(join(top, "job/captures/tests.jsonl"), session.join(""));
  writeFileSync(join(top, "job/captures/torn.jsonl"), "{");
  const script = readFileSync(join(top, "job/show.yaml"), "utf8");
  writeFileSync(
    join(top, "job/show.yaml"),
    script.replace(/^ {2}- Tern and .*$/m, "  - Thanks to those who kept the <disk>."),
  );
  done("plan", "job", "--tick", "supply-off-load/+5 V", "--reading", "5.02 V", "--note", "after a <minute>");
  expect(rouse("plan", "job", "--tick", "supply-off-load/+12 V", "--reading", "10 V")).toMatchObject({ status: 1 });
  done("plan", "job", "--at", "inspect-case", "--file", "dossier/photos/U1 before.png");
  done("plan", "job", "--tick", "fit/translation board/link-1");
  rouse("why", "job", "--sees", "dark screen");
  const image = { name: "tern", sha256: sha256(readFileSync(join(top, "job/images/tern.img"))), size: 1_066_496 };
  const entry = {
    kind: "write-certificate",
    image,
    target: { path: "/dev/disk" },
    blocks: 4166,
    verified: true,
    bad: [],
  };
  appendFileSync(
    join(top, "job/log.jsonl"),
    `${JSON.stringify({ time: "2026-06-06T10:00:00.000Z", ...entry })}\n${JSON.stringify({ time: "2026-06-06T11:00:00.000Z", kind: "note", text: "rain" })}\nnot an entry\n`,
  );
  done("pack", "job", "bag");
  dossier = JSON.parse(readFileSync(join(top, "bag/data/dossier.json"), "utf8"));
  html = readFileSync(join(top, "bag/data/dossier.html"), "utf8");
});
afterAll(() => rmSync(top, { recursive: true, force: true }));

describe("the record", () => {
  it("says of every image, ROMs too, from whom and when it came, and by whose leave it is used", () => {
    expect(dossier.images.map(({ kind, file }) => [kind, file])).toEqual([
      ["disk", "images/tern.img"],
      ["ROM", "images/monitor.rom"],
      ["ROM", "images/vectors.rom"],
    ]);
    for (const { file, sha256: told, from, received, permission, licence } of dossier.images) {
      expect(told).toBe(sha256(readFileSync(join(top, "job", file))));
      for (const each of [from, received, permission, licence]) expect(each).toEqual(expect.any(String));
    }
  });

  it("holds the survey of the disk, file by file", () => {
    const [survey] = dossier.surveys;
    expect(survey).toMatchObject({ image: "tern", condition: "whole" });
    expect(survey!.entries.map(({ path }) => path)).toContain("visitors/poem");
    expect(html).toContain("<td>visitors/poem</td>");
  });

  it("holds the whole run book with its evidence and every reading, those outside their limits too", () => {
    const stateOf = (id: string) => dossier.runBook.find(({ step }) => step.id === id)!;
    expect(dossier.runBook.length).toBeGreaterThan(30);
    expect(stateOf("supply-off-load/+5 V")).toMatchObject({ state: "done" });
    expect(stateOf("supply-off-load/+12 V")).toMatchObject({ state: "open" });
    expect(dossier.readings.map(({ reading, within }) => [reading, within])).toEqual([
      ["5.02 V", true],
      ["10 V", false],
    ]);
    expect(html).toContain("after a &lt;minute&gt;");
  });

  it("tells changes that were made from those that were only planned", () => {
    const states = dossier.changes.map(({ change, state }) => [/: (\w+)/.exec(change)![1], state]);
    expect(states).toEqual([
      ["Take", "open"],
      ["Set", "done"],
      ["Press", "open"],
    ]);
  });

  it("holds certificates, diagnostics, captures and what else the log says", () => {
    expect(dossier.certificates).toMatchObject([{ image: "tern", blocks: 4166, verified: true, bad: 0 }]);
    expect(dossier.diagnostics.answers).toMatchObject([{ found: expect.stringContaining("dark") }]);
    expect(dossier.diagnostics.causes.length).toBeGreaterThan(1);
    expect(dossier.diagnostics.reports).toEqual([
      { file: "captures/tests.jsonl", program: "E604", verdicts: "A good, B bad", findings: 1, end: "bad" },
    ]);
    expect(dossier.captures).toMatchObject([{ file: "captures/tests.jsonl", seconds: 60, sent: 6, leftOut: 0 }]);
    expect(dossier.captures[0]!.text).toContain("B3 G5D W55 A1234");
    expect(dossier.log).toEqual([{ time: "2026-06-06T11:00:00.000Z", kind: "note", particulars: "text: rain" }]);
  });

  it("names what could not be read", () => {
    expect(dossier.unread).toHaveLength(2);
    expect(dossier.unread.join("\n")).toMatch(/log\.jsonl, line \d+[\s\S]*captures\/torn\.jsonl/);
  });

  it("has its photographs in the page, and links only to files of the bag", () => {
    expect(dossier.photos).toMatchObject([
      { file: "dossier/photos/U1 before.png", type: "image/png", size: PNG.length },
    ]);
    expect(html).toContain(`src="data:image/png;base64,${PNG.toString("base64")}"`);
    const links = [...html.matchAll(/(?:href|src)="([^"#][^"]*)"/g)].flatMap(([, to]) =>
      to!.startsWith("data:") ? [] : to!,
    );
    expect(links.length).toBeGreaterThan(1);
    for (const link of links) expect(existsSync(join(top, "bag/data", decodeURIComponent(link))), link).toBe(true);
  });

  it("gives credits: those of the script, then whose each image is", () => {
    expect(dossier.credits).toEqual([
      "Thanks to those who kept the <disk>.",
      expect.stringMatching(/^tern \(disk\), monitor \(ROM\), vectors \(ROM\): .*licence: MIT\.$/),
    ]);
    expect(rouse("show", "job").stdout).toContain("Thanks to those who kept the <disk>.");
  });

  it("is the same bytes when packed again, and in a folder of another name", () => {
    cpSync(join(top, "job"), join(top, "copy"), { recursive: true });
    done("pack", "copy", "again");
    execFileSync("diff", ["-r", join(top, "bag"), join(top, "again")]);
  });

  it.skipIf(!existsSync(CHROMIUM))(
    "is the same bytes as a PDF too, with no path of this computer in it",
    () => {
      done("pack", "job", "one", "--pdf");
      done("pack", "job", "other", "--pdf");
      const pdf = readFileSync(join(top, "one/data/dossier.pdf"));
      expect(pdf.subarray(0, 5).toString("latin1")).toBe("%PDF-");
      expect(pdf.includes("file:")).toBe(false);
      execFileSync("diff", ["-r", join(top, "one"), join(top, "other")]);
    },
    120_000,
  );

  it("is not packed into a folder that is not there", () => {
    expect(rouse("pack", "job", "nowhere/bag")).toMatchObject({
      status: 2,
      stderr: expect.stringContaining("does not"),
    });
    expect(existsSync(join(top, "nowhere"))).toBe(false);
  });

  it("is not packed into the job itself", () => {
    for (const bag of ["job/bag", "job/dossier/bag"])
      expect(rouse("pack", "job", bag)).toMatchObject({ status: 2, stderr: expect.stringContaining("inside the job") });
  });
});
