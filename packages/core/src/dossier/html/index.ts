import { base64, escapeHtml } from "../../bytes/index.ts";
import { formatDuration, formatNumber } from "../../quantity/index.ts";
import type { StepState } from "../../runbook/index.ts";
import { STAGES } from "../../runbook/index.ts";
import type { Dossier, JobFile } from "../types.ts";
import { fileLink, list, minute, paragraph, particulars, STYLE, table } from "./parts.ts";

/** Bytes of photographs that the page holds itself; the others lie beside it. */
const PHOTO_BYTES = 24 * 1024 * 1024;

const MARKS = { runs: "● runs", tight: "▲ tight", stops: "■ stops", unknown: "○ unknown" } as const;
const STATES = {
  done: "● done",
  open: "○ open",
  "no longer holds": "▲ no longer holds",
  "not in the run book": "○ open",
} as const;

const evidenceWords = ({ at, what, reading, note, file }: StepState["evidence"][number]): string =>
  [
    `${minute(at)}: ${what}`,
    reading ? `${reading.text}${reading.within ? "" : " (out of tolerance)"}` : "",
    note ?? "",
    file ? `${file.path}, SHA-256 ${file.sha256}` : "",
  ]
    .filter((each) => each !== "")
    .join("; ");

function runBook({ runBook: states, left }: Dossier): string {
  const done = states.filter(({ state }) => state === "done").length;
  const stages = STAGES.flatMap((stage) => {
    const steps = states.filter(({ step }) => step.stage === stage);
    if (steps.length === 0) return [];
    const rows = steps.map(({ step, state, remark, evidence }) => [
      step.title,
      `${STATES[state]}${remark ? `: ${remark}` : ""}`,
      step.expected,
      evidence.map(evidenceWords).join("\n"),
    ]);
    return `<h3>${stage[0]!.toUpperCase()}${stage.slice(1)}</h3>${table(["step", "state", "expected", "evidence"], rows, "steps")}`;
  });
  const gone =
    left.length === 0
      ? ""
      : `<h3>Steps that this bench no longer has</h3>${table(
          ["step", "evidence"],
          left.map(({ step, evidence }) => [step, evidence.map(evidenceWords).join("\n")]),
        )}`;
  return `${paragraph(`${done} of ${states.length} steps are done.`)}${stages.join("")}${gone}`;
}

const surveys = ({ surveys: all }: Dossier): string =>
  all.length === 0
    ? paragraph("No image that could be read.")
    : all
        .map(
          ({ image, format, label, condition, facts, entries, damages }) =>
            `<h3>${escapeHtml(image)}</h3>${paragraph(`${format}${label ? `, “${label}”` : ""}: ${condition}.`)}${
              facts.length === 0 ? "" : list(facts.map(([name, value]) => `${name}: ${value}`))
            }${damages.length === 0 ? "" : `<h4>Damage</h4>${list(damages)}`}${table(
              ["file", "kind", "bytes", "condition"],
              entries.map((each) => [
                each.path,
                `${each.kind}${each.deleted ? ", deleted" : ""}`,
                formatNumber(each.size, 12),
                each.condition,
              ]),
            )}`,
        )
        .join("");

function diagnostics({ diagnostics: { answers, causes, reports } }: Dossier): string {
  if (answers.length + reports.length === 0)
    return paragraph("No test program has reported, and no fault was searched for.");
  const tests =
    reports.length === 0
      ? ""
      : `<h3>Test programs</h3>${table(
          ["file", "program", "tests", "findings", "end"],
          reports.map((each) => [
            each.file,
            each.program,
            each.verdicts,
            String(each.findings),
            each.end ?? "the report does not end",
          ]),
        )}${paragraph("`rouse suspects` names the parts that such findings point at.")}`;
  const search =
    answers.length === 0
      ? ""
      : `<h3>The search for a fault</h3>${table(
          ["when", "test", "found"],
          answers.map(({ at, test, found, reading }) => [
            at === null ? "" : minute(at),
            test,
            reading === null ? found : `${reading} (${found})`,
          ]),
        )}${table(
          ["likeliest causes", "chance"],
          causes.map(({ part, chance }) => [part, `${formatNumber(chance * 100, 2)} %`]),
        )}`;
  return tests + search;
}

const captures = ({ captures: all }: Dossier): string =>
  all.length === 0
    ? paragraph("None.")
    : all
        .map((each) => {
          const half = each.leftOut > 0 ? each.text.length / 2 : each.text.length;
          const shown = [
            ...each.text.slice(0, half),
            ...(each.leftOut > 0 ? [`[${each.leftOut} lines stand in the file only]`] : []),
            ...each.text.slice(half),
          ];
          return `<h3>${fileLink(each.file)}</h3>${paragraph(
            `Begun ${minute(each.started)} at ${each.port}, ${each.rate} bit/s, ${each.frame}; ${formatDuration(each.seconds)} long, ${each.received} characters received and ${each.sent} sent${each.bad > 0 ? `; ${each.bad} lines of the file cannot be read` : ""}.`,
          )}<p class="hash">SHA-256 ${escapeHtml(each.sha256)}</p>${shown.length === 0 ? "" : `<pre>${escapeHtml(shown.join("\n"))}</pre>`}`;
        })
        .join("");

function photos({ photos: all }: Dossier, files: readonly JobFile[]): string {
  if (all.length === 0) return paragraph("None.");
  let room = PHOTO_BYTES;
  return all
    .map(({ file, sha256, size, type, steps }) => {
      const bytes = files.find((each) => each.path === file)?.bytes;
      const inside = bytes !== undefined && size <= room;
      if (inside) room -= size;
      const about = steps.length > 0 ? steps.join("; ") : "kept with the job";
      const picture = inside
        ? `<img alt="${escapeHtml(about)}" src="data:${type};base64,${base64(bytes)}">`
        : paragraph("This photograph lies beside the page only.");
      return `<figure>${picture}<figcaption>${escapeHtml(about)}: ${fileLink(file)}, <span class="hash">SHA-256 ${escapeHtml(sha256)}</span></figcaption></figure>`;
    })
    .join("");
}

const NOT_SAID = "not said";

function provenance({ images }: Dossier): string {
  const silent = images.flatMap((each) => {
    const keys = (["from", "received", "permission", "licence"] as const).filter((key) => each[key] === null);
    return keys.length === 0 ? [] : [`${each.file}: ${keys.map((key) => `${each.key}.${key}`).join(", ")}`];
  });
  return `${images
    .map(
      (each) =>
        `<h3>${escapeHtml(`${each.name} (${each.kind})`)}</h3>${particulars([
          ["file", each.file],
          ["size", each.size === null ? "the file is not there" : `${formatNumber(each.size, 12)} bytes`],
          ["SHA-256", each.sha256 ?? "not read"],
          ["holds", each.holds],
          ["from whom", each.from ?? NOT_SAID],
          ["when", each.received ?? NOT_SAID],
          ["permission", each.permission ?? NOT_SAID],
          ["licence", each.licence ?? NOT_SAID],
        ])}`,
    )
    .join("")}${silent.length === 0 ? "" : `${paragraph("The bench file does not say:")}${list(silent)}`}`;
}

/** One self-contained page: no script, photographs inside it, fit to print. `files`: those of the job, for the photographs. */
export function dossierHtml(dossier: Dossier, files: readonly JobFile[]): string {
  const { report } = dossier;
  const findings = report.links.flatMap((each) => each.findings);
  const sections: readonly (readonly [title: string, body: string])[] = [
    [
      "Cautions",
      report.cautions
        .map(
          (each) =>
            `<div class="caution"><strong>${escapeHtml(each.title)}.</strong> ${escapeHtml(each.sentence)}</div>`,
        )
        .join(""),
    ],
    [
      "The chain",
      table(
        ["link", "verdict"],
        report.links.map((each) => [each.link, MARKS[each.verdict]]),
      ),
    ],
    [
      "Findings",
      table(
        ["finding", "verdict", "what it says", "what to do"],
        findings.map((each) => [
          each.id,
          MARKS[each.verdict],
          each.sentence,
          [each.remedy, each.caution].filter((words) => words !== undefined).join(" "),
        ]),
      ),
    ],
    ["Images and where they came from", provenance(dossier)],
    ["What the images hold", surveys(dossier)],
    ["The run book and its evidence", runBook(dossier)],
    [
      "Readings",
      table(
        ["when", "step", "wanted", "reading", ""],
        dossier.readings.map((each) => [
          minute(each.at),
          each.step,
          each.wanted,
          each.reading,
          each.within ? "● within" : "■ outside",
        ]),
      ),
    ],
    [
      "Disks written",
      table(
        ["when", "image", "onto", "blocks", "verified"],
        dossier.certificates.map((each) => [
          minute(each.time),
          `${each.image}, SHA-256 ${each.sha256}`,
          each.target,
          each.blocks === null ? "" : formatNumber(each.blocks, 12),
          each.verified ? "● read back the same" : each.bad > 0 ? `■ ${each.bad} bad blocks` : "○ not verified",
        ]),
      ),
    ],
    ["Diagnostics", diagnostics(dossier)],
    [
      "Changes to the machine, and how to undo them",
      table(
        ["change", "state", "undo", "undone"],
        dossier.changes.map((each) => [
          each.change,
          `${STATES[each.state]}${each.at === null ? "" : `, ${minute(each.at)}`}`,
          each.undo,
          each.undone ? "yes" : "not ticked",
        ]),
      ),
    ],
    ["Captured sessions", captures(dossier)],
    ["Photographs", photos(dossier, files)],
    [
      "Other entries of the log",
      `${table(
        ["when", "what", "particulars"],
        dossier.log.map((each) => [minute(each.time), each.kind, each.particulars]),
      )}${dossier.unread.length === 0 ? "" : `<h3>What could not be read</h3>${list(dossier.unread)}`}`,
    ],
    ["Credits for the show", list(dossier.credits)],
    [
      "Sources",
      table(
        ["source", "kind"],
        dossier.sources.map((each) => [each.title, each.kind]),
      ),
    ],
    ["The bench file", `<pre>${escapeHtml(dossier.bench)}</pre>`],
  ];
  const name = escapeHtml(report.bench.name ?? "A bench");
  const body = [
    `<h1>${name}</h1>`,
    report.bench.about ? paragraph(report.bench.about) : "",
    paragraph(`Record made by Rouse ${report.madeBy}. Everything it names lies beside it in this bag.`),
    `<nav aria-label="Contents"><ul>${sections.map(([title], index) => `<li><a href="#s${index + 1}">${escapeHtml(title)}</a></li>`).join("")}</ul></nav>`,
    ...sections.map(
      ([title, inside], index) => `<section id="s${index + 1}"><h2>${escapeHtml(title)}</h2>${inside}</section>`,
    ),
  ];
  return `<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width,initial-scale=1"><meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; img-src data:"><title>${name}: the record</title><style>${STYLE}</style></head><body>\n${body.join("\n")}\n</body></html>\n`;
}
