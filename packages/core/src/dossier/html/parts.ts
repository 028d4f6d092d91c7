import { escapeHtml } from "../../bytes/index.ts";

export const table = (head: readonly string[], rows: readonly (readonly string[])[], kind = ""): string =>
  rows.length === 0
    ? "<p>None.</p>"
    : `<table${kind === "" ? "" : ` class="${kind}"`}><thead><tr>${head.map((each) => `<th scope="col">${escapeHtml(each)}</th>`).join("")}</tr></thead><tbody>${rows
        .map((row) => `<tr>${row.map((cell) => `<td>${escapeHtml(cell)}</td>`).join("")}</tr>`)
        .join("")}</tbody></table>`;

/** What is said of one thing, line by line. */
export const particulars = (rows: readonly (readonly [name: string, value: string])[]): string =>
  `<table><tbody>${rows.map(([name, value]) => `<tr><th scope="row">${escapeHtml(name)}</th><td>${escapeHtml(value)}</td></tr>`).join("")}</tbody></table>`;

export const paragraph = (text: string): string => `<p>${escapeHtml(text)}</p>`;
export const list = (items: readonly string[]): string =>
  items.length === 0 ? "<p>None.</p>" : `<ul>${items.map((each) => `<li>${escapeHtml(each)}</li>`).join("")}</ul>`;
/** A time of the log or of a capture, in whatever zone it was written; what is none stays as it is. */
export const minute = (time: string): string => {
  const at = Date.parse(time);
  // Beyond the years that ISO 8601 writes with four digits nobody kept a log.
  return Number.isNaN(at) ? time : `${new Date(at).toISOString().slice(0, 16).replace("T", " ")} UTC`;
};
export const fileLink = (path: string): string =>
  `<a href="${escapeHtml(`job/${path.split("/").map(encodeURIComponent).join("/")}`)}">${escapeHtml(path)}</a>`;

export const STYLE = `:root{color-scheme:light}body{font:11pt/1.45 Georgia,"Times New Roman",serif;color:#1b1a17;background:#fff;max-width:52rem;margin:2rem auto;padding:0 1rem}
h1{font-size:1.9rem;margin-bottom:.2rem}h2{font-size:1.25rem;border-bottom:1px solid #8a8272;padding-bottom:.2rem;margin-top:2.2rem}h3{font-size:1.05rem;margin:1.2rem 0 .2rem}
a{color:#1d4f78}nav ul{columns:2 16rem;padding-left:1.2rem}section{overflow-x:auto}
table{border-collapse:collapse;width:100%;font-size:.92em;margin:.6rem 0}th,td{text-align:left;vertical-align:top;padding:.25rem .6rem .25rem 0;border-bottom:1px solid #d8d1c0}
td{overflow-wrap:anywhere;white-space:pre-line;min-width:4.5em}th[scope=row]{width:7em}pre{white-space:pre-wrap;font:9.5pt/1.4 ui-monospace,Consolas,monospace;background:#f5f2ea;padding:.8rem;overflow-wrap:anywhere}
table.steps{table-layout:fixed;min-width:36rem}.steps th:nth-child(1){width:24%}.steps th:nth-child(2){width:16%}
figure{margin:1rem 0;break-inside:avoid}img{max-width:100%;max-height:24cm}figcaption{font-size:.92em;overflow-wrap:anywhere}.hash{font:8.5pt/1.4 ui-monospace,Consolas,monospace;overflow-wrap:anywhere}
.caution{border:2px solid #1b1a17;padding:.5rem .8rem;margin:.5rem 0;break-inside:avoid}@page{margin:16mm 14mm}
@media print{body{margin:0;max-width:none;padding:0}nav{display:none}section{overflow:visible}h2,h3{break-after:avoid}tr{break-inside:avoid}}`;
