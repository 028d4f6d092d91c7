import { escapeHtml } from "../bytes/index.ts";
import { testOfStep } from "../diagnose/why/index.ts";
import { formatDuration } from "../quantity/index.ts";
import type { Evidence, StepState } from "./state/judge.ts";
import { type RunBook, STAGES } from "./types.ts";

const STYLE = `:root{color-scheme:light}body{font:10.5pt/1.4 Georgia,"Times New Roman",serif;color:#1b1a17;max-width:48rem;margin:2rem auto;padding:0 1rem}
h1{font-size:1.7rem;margin-bottom:.2rem}h2{font-size:1.2rem;border-bottom:1px solid #8a8272;margin-top:1.8rem;break-after:avoid}
ol{list-style:none;padding:0}.step{display:grid;grid-template-columns:1.6rem 1fr;gap:.2rem .5rem;padding:.6rem 0;border-bottom:1px solid #d8d1c0;break-inside:avoid}
.box{width:1.1rem;height:1.1rem;border:1.5px solid #1b1a17;text-align:center;line-height:1.1rem}h3{font-size:1rem;margin:0}p,ul{margin:.15rem 0}
.small{font-size:.88em;color:#4a463d}.blank{display:inline-block;min-width:9rem;border-bottom:1px solid #1b1a17}.caution .step,.warn{border:1.5px solid #1b1a17;padding:.4rem .6rem;margin:.3rem 0}
@page{margin:16mm 14mm}@media print{body{margin:0;max-width:none;padding:0}}`;

const evidenceText = ({ at, what, note, reading, file }: Evidence): string =>
  [
    `${at.slice(0, 16).replace("T", " ")} UTC: ${what}`,
    reading ? `${reading.text}${reading.within ? "" : " (out of tolerance)"}` : "",
    file ? file.path : "",
    note ?? "",
  ]
    .filter((each) => each !== "")
    .join(", ");

function stepHtml({ step, state, evidence, remark }: StepState): string {
  const line = (label: string, text: string) => `<p><b>${label}</b> ${escapeHtml(text)}</p>`;
  const blanks = step.reading
    ? `<p>${escapeHtml(step.reading.what)}, wanted ${escapeHtml(step.reading.text)}: <span class="blank"></span></p>`
    : "";
  return `<li class="step"><div class="box" role="img" aria-label="${state}">${state === "done" ? "✓" : state === "open" ? "" : "!"}</div><div>
<h3>${escapeHtml(step.title)}</h3><p class="small">${escapeHtml(step.id)} · ${step.time.from === "at least" ? "at least " : "about "}${escapeHtml(formatDuration(step.time.seconds))}${step.tools.length > 0 ? ` · ${escapeHtml(step.tools.join(", "))}` : ""}</p>
${line("Why:", step.why)}<ul>${step.how.map((each) => `<li>${escapeHtml(each)}</li>`).join("")}</ul>${line("Expected:", step.expected)}${blanks}
${step.warnings.map((each) => `<p class="warn">${escapeHtml(each)}</p>`).join("")}${line("If not:", step.fails.say + (testOfStep(step.id) === undefined ? "" : ` Then: rouse why JOB --from "${step.id}"`))}
${step.missing.length > 0 ? line("Missing in the bench file:", step.missing.join(", ")) : ""}${remark ? line("Note:", remark) : ""}
${evidence.map((each) => `<p class="small">${escapeHtml(evidenceText(each))}</p>`).join("")}
<p class="small">Time <span class="blank"></span> By <span class="blank"></span></p></div></li>`;
}

/** The run book as one self-contained page that prints well: no script, no other file. */
export function paperHtml(book: RunBook, states: readonly StepState[]): string {
  const stages = STAGES.map((stage) => {
    const steps = states.filter((each) => each.step.stage === stage);
    return steps.length === 0
      ? ""
      : `<section${stage === "cautions" ? ' class="caution"' : ""}><h2>${stage[0]!.toUpperCase()}${stage.slice(1)}</h2><ol>${steps.map(stepHtml).join("")}</ol></section>`;
  });
  const name = escapeHtml(book.bench);
  return `<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width,initial-scale=1"><meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'"><title>${name}: run book</title><style>${STYLE}</style></head><body>
<h1>${name}: run book</h1><p>Tick a step only when what is expected was seen. Local codes and licensed practice go before anything said here.</p>
${stages.join("\n")}\n</body></html>\n`;
}
