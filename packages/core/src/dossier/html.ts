import { escapeHtml } from "../bytes/index.ts";
import type { Dossier } from "./data.ts";

const table = (head: readonly string[], rows: readonly (readonly string[])[]): string =>
  rows.length === 0
    ? "<p>None.</p>"
    : `<table><thead><tr>${head.map((each) => `<th>${escapeHtml(each)}</th>`).join("")}</tr></thead><tbody>${rows
        .map((row) => `<tr>${row.map((cell) => `<td>${escapeHtml(cell)}</td>`).join("")}</tr>`)
        .join("")}</tbody></table>`;

const section = (title: string, body: string): string => `<section><h2>${escapeHtml(title)}</h2>${body}</section>`;
const paragraph = (text: string): string => `<p>${escapeHtml(text)}</p>`;

const STYLE = `:root{color-scheme:light}body{font:11pt/1.45 Georgia,"Times New Roman",serif;color:#1b1a17;max-width:52rem;margin:2rem auto;padding:0 1rem}
h1{font-size:1.9rem;margin-bottom:.2rem}h2{font-size:1.25rem;border-bottom:1px solid #8a8272;padding-bottom:.2rem;margin-top:2.2rem}
table{border-collapse:collapse;width:100%;font-size:.92em;margin:.6rem 0}th,td{text-align:left;vertical-align:top;padding:.25rem .6rem .25rem 0;border-bottom:1px solid #d8d1c0}
td{overflow-wrap:anywhere}pre{white-space:pre-wrap;font:9.5pt/1.4 ui-monospace,Consolas,monospace;background:#f5f2ea;padding:.8rem}
.caution{border:2px solid #1b1a17;padding:.5rem .8rem;margin:.5rem 0}@media print{body{margin:0;max-width:none}section{break-inside:auto}h2{break-after:avoid}tr{break-inside:avoid}}`;

const MARKS = { runs: "● runs", tight: "▲ tight", stops: "■ stops", unknown: "○ unknown" } as const;

/** One self-contained page: no script, no other file, fit to print. */
export function dossierHtml(dossier: Dossier): string {
  const { report } = dossier;
  const findings = report.links.flatMap((each) => each.findings);
  const body = [
    `<h1>${escapeHtml(report.bench.name ?? "A bench")}</h1>`,
    report.bench.about ? paragraph(report.bench.about) : "",
    paragraph(`Record made by Rouse ${report.madeBy}. Everything it names lies beside it in this bag.`),
    section(
      "Cautions",
      report.cautions
        .map(
          (each) =>
            `<div class="caution"><strong>${escapeHtml(each.title)}.</strong> ${escapeHtml(each.sentence)}</div>`,
        )
        .join(""),
    ),
    section(
      "The chain",
      table(
        ["link", "verdict"],
        report.links.map((each) => [each.link, MARKS[each.verdict]]),
      ),
    ),
    section(
      "Findings",
      table(
        ["finding", "verdict", "what it says", "what to do"],
        findings.map((each) => [each.id, MARKS[each.verdict], each.sentence, each.remedy ?? each.caution ?? ""]),
      ),
    ),
    section(
      "Images and where they came from",
      table(
        ["image", "size", "SHA-256", "holds", "from", "permission"],
        dossier.images.map((each) => [
          each.file,
          `${each.size} bytes`,
          each.sha256 ?? "not read",
          each.holds,
          each.from,
          each.permission,
        ]),
      ),
    ),
    section(
      "Changes to the machine, and how to undo them",
      table(
        ["change", "undo"],
        dossier.changes.map((each) => [each.change, each.undo]),
      ),
    ),
    section(
      "What was done",
      table(
        ["when", "what", "particulars"],
        dossier.log.map((each) => [each.time, each.kind, each.particulars]),
      ),
    ),
    section(
      "Sources",
      table(
        ["source", "kind"],
        dossier.sources.map((each) => [each.title, each.kind]),
      ),
    ),
    section("The bench file", `<pre>${escapeHtml(dossier.bench)}</pre>`),
  ];
  return `<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width,initial-scale=1"><meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'"><title>${escapeHtml(report.bench.name ?? "A bench")}: dossier</title><style>${STYLE}</style></head><body>\n${body.join("\n")}\n</body></html>\n`;
}
