import { printIssues } from "@rouse/core/bench";
import { InputError } from "@rouse/core/errors";
import { allChecks, checkNamed, type FindingWithPlace, type JobReport, type Verdict } from "@rouse/core/fit";
import { checkJob } from "../job/index.ts";
import { openJob } from "../store/index.ts";
import { columns, paint, wrap } from "./text.ts";
import type { Output, Verb } from "./verb.ts";

/** Verdicts by shape and word as well as by colour. */
const MARK: Record<Verdict, string> = { runs: "●", tight: "▲", stops: "■", unknown: "○" };
const COLOUR: Record<Verdict, "green" | "yellow" | "red" | "blue"> = {
  runs: "green",
  tight: "yellow",
  stops: "red",
  unknown: "blue",
};

const verdictText = (out: Output, verdict: Verdict) =>
  paint(out.colour, COLOUR[verdict], `${MARK[verdict]} ${verdict}`);

function printFinding(out: Output, finding: FindingWithPlace, file: string): void {
  const place = finding.line === null ? "" : `  ${file}:${finding.line}`;
  out.line(
    `${verdictText(out, finding.verdict)}  ${paint(out.colour, "bold", finding.id)}${paint(out.colour, "faint", place)}`,
  );
  for (const line of wrap(finding.sentence, out.width, "    ")) out.line(line);
  if (finding.result) out.line(`    result: ${finding.result}${finding.margin ? `; margin: ${finding.margin}` : ""}`);
  if (finding.remedy) for (const line of wrap(`→ ${finding.remedy}`, out.width, "    ")) out.line(line);
  if (finding.missing?.length)
    for (const line of wrap(`needed: ${finding.missing.join(", ")}`, out.width, "    ")) out.line(line);
  if (finding.caution) for (const line of wrap(`Caution: ${finding.caution}`, out.width, "    ")) out.line(line);
}

function printChain(out: Output, report: JobReport, all: boolean): void {
  out.line(paint(out.colour, "bold", report.bench.name ?? ""));
  if (report.bench.about) for (const line of wrap(report.bench.about, out.width)) out.line(line);
  out.line();
  for (const { title, sentence } of report.cautions)
    for (const line of wrap(`Caution, ${title.toLowerCase()}: ${sentence}`, out.width, "  ")) out.line(line);
  if (report.cautions.length > 0) out.line();
  for (const { link, verdict, findings, missing } of report.links) {
    const counts = (["stops", "tight", "unknown", "runs"] as const)
      .map((each) => [findings.filter((finding) => finding.verdict === each).length, each] as const)
      .filter(([count]) => count > 0)
      .map(([count, each]) => `${count} ${each}`);
    out.line(
      `  ${link.padEnd(9)} ${verdictText(out, verdict)}${" ".repeat(8 - verdict.length)} ${paint(out.colour, "faint", counts.join(", ") || `needed: ${(missing ?? []).join(", ")}`)}`,
    );
  }
  const findings = report.links.flatMap((each) => each.findings);
  for (const verdict of ["stops", "tight", "unknown", ...(all ? (["runs"] as const) : [])] as const) {
    const some = findings.filter((each) => each.verdict === verdict);
    for (const finding of some) {
      out.line();
      printFinding(out, finding, report.bench.file);
    }
  }
  out.line();
  const stopped = report.links.filter((each) => each.verdict === "stops").map((each) => each.link);
  const ending =
    stopped.length > 0
      ? `The chain stops at: ${stopped.join(", ")}.`
      : report.verdict === "unknown"
        ? "Nothing stops the chain as far as it is known; some values are missing."
        : report.verdict === "tight"
          ? "The chain reaches its target, with less margin than is wise in places."
          : "The chain reaches its target.";
  out.line(paint(out.colour, "bold", ending));
  if (!all) out.line("`--all` shows what runs too; `--explain ID` shows a check's arithmetic and sources.");
}

/** A check's reasoning and, for this bench, its figures. */
function explain(out: Output, id: string, report: JobReport): void {
  const check = checkNamed(id);
  if (!check)
    throw new InputError(
      "no-such-check",
      `There is no check “${id}”; there is ${allChecks()
        .map((each) => each.id)
        .join(", ")}.`,
    );
  out.line(paint(out.colour, "bold", `${check.id}: ${check.title}`));
  out.line(`link of the chain: ${check.link}`);
  out.line();
  for (const line of wrap(check.about, out.width)) out.line(line);
  if (check.formula) for (const line of wrap(check.formula, out.width, "    ")) out.line(line);
  const findings = report.links
    .flatMap((each) => each.findings)
    .filter((each) => each.id === id || each.id.startsWith(`${id}/`));
  for (const finding of findings) {
    out.line();
    printFinding(out, finding, report.bench.file);
    const rows = finding.figures.map((figure) => [
      `      ${figure.label}`,
      figure.value,
      figure.from === "bench"
        ? "your bench file"
        : figure.from === "image"
          ? `image: ${figure.path ?? ""}`
          : (figure.source?.title ?? "worked out"),
    ]);
    for (const line of columns(rows)) out.line(line);
  }
  if (findings.length === 0) out.line("\nIt had nothing to say of this bench.");
  const sources = new Map(
    [...check.sources, ...findings.flatMap((each) => each.sources)].map((each) => [each.id, each] as const),
  );
  out.line();
  out.line("Sources:");
  for (const source of sources.values()) out.line(`    ${source.title} (${source.kind})`);
}

export const verb: Verb = {
  usage: "[JOB]",
  help: [
    "Works out whether the chain from the image to the audience reaches its target, link by link.",
    "JOB is a folder with a bench.yaml; without it, the folder you are in. What stops comes first, then what is",
    "tight, then what cannot be judged because a number is missing.",
  ],
  options: {
    all: { type: "boolean", short: "a", about: "show the findings that run too" },
    json: { type: "boolean", about: "print the report for machines (docs/report.md)" },
    explain: { type: "string", value: "ID", about: "print one check's reasoning, formula, figures and sources" },
  },
  examples: [
    ["rouse check demo/first-try", "the demo bench with its faults"],
    ["rouse check --explain cable-nets demo/first-try", "why that cable stops the line"],
  ],
  async run({ positionals, values }, out) {
    if (positionals.length > 1)
      throw new InputError("one-job", `One job at a time; “${positionals[1]}” is one too many.`);
    const job = await openJob(positionals[0] ?? ".");
    const { report, text, issues } = await checkJob(job);
    if (values.json) out.line(JSON.stringify(report, null, 2));
    if (issues.length > 0) {
      if (!values.json)
        process.stderr.write(`${printIssues(`${positionals[0] ?? "."}/${report.bench.file}`, text, issues)}\n`);
      return 2;
    }
    if (typeof values.explain === "string") explain(out, values.explain, report);
    else if (!values.json) printChain(out, report, values.all === true);
    return report.verdict === "stops" ? 1 : 0;
  },
};
