import type { Diagnostic } from "@codemirror/lint";
import type { Text } from "@codemirror/state";
import type { Verdict, WorkbenchReport } from "../../job/types.ts";

const SEVERITY: Readonly<Partial<Record<Verdict, Diagnostic["severity"]>>> = {
  stops: "error",
  tight: "warning",
  unknown: "info",
};

/** Markers for what cannot be used in the file, and at the places that findings speak of. */
export function markersOf(report: WorkbenchReport, doc: Text): Diagnostic[] {
  const markers: Diagnostic[] = [];
  const add = (
    line: number,
    column: number,
    length: number | null,
    severity: Diagnostic["severity"],
    message: string,
  ): void => {
    if (line < 1 || line > doc.lines) return;
    const { from, to } = doc.line(line);
    const start = Math.min(to, from + Math.max(0, column - 1));
    markers.push({ from: start, to: length === null ? to : Math.min(to, start + length), severity, message });
  };
  for (const each of report.issues) add(each.line, each.column, each.length, "error", each.sentence);
  for (const { findings } of report.links)
    for (const { verdict, line, column, sentence, remedy } of findings) {
      const severity = SEVERITY[verdict];
      if (severity && line !== null)
        add(line, column ?? 1, null, severity, `${verdict}: ${sentence}${remedy ? `\nWhat to do: ${remedy}` : ""}`);
    }
  return markers.sort((a, b) => a.from - b.from || a.to - b.to);
}
