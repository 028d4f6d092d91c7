import { spawn } from "node:child_process";
import { createHash } from "node:crypto";
import { existsSync } from "node:fs";
import { mkdtemp, readFile, realpath, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { delimiter, dirname, isAbsolute, join, relative, resolve, sep } from "node:path";
import { visible } from "@rouse/core/bytes";
import { dossierHtml, gatherDossier, type JobFile } from "@rouse/core/dossier";
import { InputError } from "@rouse/core/errors";
import { formatNumber } from "@rouse/core/quantity";
import { readScript } from "@rouse/core/show/script";
import { checkJob } from "../job/index.ts";
import { jobPayload, openJob, readLog, writeBag } from "../store/index.ts";
import type { Verb } from "./verb.ts";

const NAMES = ["chromium", "chromium-browser"];
const chromium = (): string | undefined =>
  (process.env.PATH ?? "")
    .split(delimiter)
    .flatMap((folder) => (isAbsolute(folder) ? NAMES.map((name) => join(folder, name)) : []))
    .find((each) => existsSync(each));
const PDF_LIMIT = 60_000;

/** The page as PDF, where a Chromium is found; its dates are taken out, so that the same page gives the same bytes. */
async function asPdf(html: string): Promise<Uint8Array | null> {
  const program = chromium();
  if (!program) return null;
  const folder = await mkdtemp(join(tmpdir(), "rouse-pdf-"));
  try {
    const page = join(folder, "dossier.html");
    const out = join(folder, "dossier.pdf");
    // In a PDF a link to a file beside it would name this passing folder.
    await writeFile(page, html.replaceAll(/<a href="job\/[^"]*">([^<]*)<\/a>/g, "$1"));
    const args = [
      "--headless",
      "--disable-gpu",
      "--no-first-run",
      "--disable-background-networking",
      `--user-data-dir=${join(folder, "profile")}`,
      "--no-pdf-header-footer",
      `--print-to-pdf=${out}`,
      `file://${page}`,
    ];
    await new Promise<void>((resolve, reject) => {
      const child = spawn(program, process.getuid?.() === 0 ? ["--no-sandbox", ...args] : args, {
        stdio: "ignore",
        timeout: PDF_LIMIT,
      });
      child.on("error", reject);
      child.on("close", () => resolve());
    });
    if (!existsSync(out)) return null;
    const text = (await readFile(out)).toString("latin1");
    // Dates have a fixed length in PDF, so that changing them in place moves nothing.
    const still = text.replaceAll(/\/(CreationDate|ModDate) \(D:\d{14}[^)]*\)/g, (date) => date.replaceAll(/\d/g, "0"));
    return new Uint8Array(Buffer.from(still, "latin1"));
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

const JOB = "data/job/";
const SCRIPT = "show.yaml";

/** Credits that the script of the show names; a script that cannot be read is told. */
function creditsIn(files: readonly JobFile[]): { credits: readonly string[]; problem: readonly string[] } {
  const script = files.find(({ path }) => path === SCRIPT);
  if (!script) return { credits: [], problem: [] };
  try {
    return { credits: readScript(new TextDecoder().decode(script.bytes), SCRIPT).credits, problem: [] };
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return { credits: [], problem: [error.message] };
  }
}

export const verb: Verb = {
  usage: "JOB BAG",
  help: [
    "Packs the record of a job into a BagIt bag (RFC 8493): a page that prints well, everything the job holds, and checksums.",
    "Packing the same job twice gives the same bytes. `rouse verify BAG` finds one changed bit anywhere.",
  ],
  options: {
    pdf: { type: "boolean", about: "also a PDF of the page, with a Chromium that is installed" },
    json: { type: "boolean", about: "print what was packed for machines" },
  },
  examples: [["rouse pack demo/mended /tmp/larkfield-bag", "the record of the demo's bench"]],
  async run({ positionals, values }, out) {
    const [folder, bag, extra] = positionals;
    if (folder === undefined || bag === undefined || extra !== undefined)
      throw new InputError("two-names", "Name a job and a new folder: rouse pack JOB BAG.");
    const job = await openJob(folder);
    const inside = relative(job.folder, await realpath(dirname(resolve(bag))).catch(() => resolve(bag)));
    if (inside === "" || !(inside === ".." || inside.startsWith(`..${sep}`) || isAbsolute(inside)))
      throw new InputError(
        "bag-in-job",
        `${visible(bag)} would lie inside the job and be packed into itself; name a place outside.`,
      );
    const { bench, chain, images, report, text } = await checkJob(job);
    if (!bench || !chain) throw new InputError("bad-bench", "The bench file has errors; `rouse check` shows them.");
    const log = await readLog(job);
    const own = await jobPayload(job.folder);
    const kept = own.map(({ path, bytes }) => ({
      path: path.slice(JOB.length),
      bytes,
      sha256: createHash("sha256").update(bytes).digest("hex"),
    }));
    const { credits, problem } = creditsIn(kept);
    const dossier = gatherDossier({
      bench,
      text,
      report,
      chain,
      images,
      log: log.entries,
      files: kept,
      credits,
      unread: [
        ...log.bad.map(({ sentence }) => sentence),
        ...(log.torn ? [`log.jsonl, line ${log.torn.line}, is torn: ${log.torn.text}`] : []),
        ...problem,
      ],
    });
    const html = dossierHtml(dossier, kept);
    const encode = (words: string) => new TextEncoder().encode(words);
    const pdf = values.pdf === true ? await asPdf(html) : null;
    if (values.pdf === true && !pdf)
      process.stderr.write("rouse: no PDF was made: no Chromium is found in PATH, or it failed\n");
    const payload = [
      ...own,
      { path: "data/dossier.html", bytes: encode(html) },
      { path: "data/dossier.json", bytes: encode(`${JSON.stringify(dossier, null, 2)}\n`) },
      ...(pdf ? [{ path: "data/dossier.pdf", bytes: pdf }] : []),
    ];
    const last = log.entries.at(-1)?.time.slice(0, 10);
    const files = await writeBag(bag, payload, [
      ["External-Description", `Record of ${bench.name}`],
      ["Bag-Software-Agent", `Rouse ${report.madeBy}`],
      ...(last ? [["Bagging-Date", last] as const] : []),
    ]);
    if (values.json)
      out.line(
        JSON.stringify(
          files.map(({ path, bytes }) => ({ path, size: bytes.length })),
          null,
          2,
        ),
      );
    else
      out.line(
        `${bag}: ${files.length} files, ${formatNumber(
          files.reduce((sum, each) => sum + each.bytes.length, 0),
          12,
        )} bytes. Read ${bag}/data/dossier.html first.`,
      );
    return 0;
  },
};
