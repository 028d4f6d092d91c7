import type { Finding } from "../types.ts";

/** What a program printed, as far as it can be made out. */
export interface Report {
  /** The program's id, from the line it begins with. */
  id?: string;
  /** Tests that gave their verdict, in the order in which they did. */
  verdicts: readonly { test: string; good: boolean }[];
  findings: readonly Finding[];
  /** How many findings an element had in all, once for each pattern that had some. */
  counts: readonly { test: string; element: number; count: number }[];
  /** The last line of the report; left out where it is not there, as when the machine stopped on the way. */
  end?: "good" | "bad";
  /** Lines that began like a report's and could not be read, as typed. */
  unread: readonly string[];
}

/** More than any program prints. */
const MOST = 20_000;
const LONGEST_LINE = 200;

/** Digits as people type them: the letters O, I and L for 0 and 1. */
const hexOf = (text: string): number => Number.parseInt(text.replaceAll(/O/g, "0").replaceAll(/[IL]/g, "1"), 16);

const DIGITS = "[0-9A-FOIL]";
const BEGIN = new RegExp(`BEGIN\\s+(${DIGITS}{4})\\b`);
const VERDICT = /^\W*([A-Z])\s+(GOOD|BAD)\b/;
const END = /^\W*END\s+(GOOD|BAD)\b/;
const TOLD = /^\W*([A-Z])([0-9A-Z])((?:\s+[A-Z][0-9A-Z]{2,4})+)\s*$/;
const FIELD = new RegExp(`^([GWANX])(${DIGITS}{2}|${DIGITS}{4})$`);

/**
 * Reads what a test program printed, from a capture or as a person typed it: capitals or not, any line ends, bits 7 set by a
 * parity that was not taken off, other text between. What cannot be read is left out and listed. Takes any text at all.
 */
export function readReport(text: string): Report {
  const verdicts: { test: string; good: boolean }[] = [];
  const findings: Finding[] = [];
  const counts: { test: string; element: number; count: number }[] = [];
  const unread: string[] = [];
  let id: string | undefined;
  let end: Report["end"];
  for (const line of linesOf(text)) {
    const began = BEGIN.exec(line);
    const ended = END.exec(line);
    const verdict = VERDICT.exec(line);
    const told = TOLD.exec(line);
    if (began) id = hexOf(began[1]!).toString(16).toUpperCase().padStart(4, "0");
    else if (ended) end = ended[1] === "GOOD" ? "good" : "bad";
    else if (verdict) verdicts.push({ test: verdict[1]!, good: verdict[2] === "GOOD" });
    else if (told) {
      const [, test, sign, fields] = told as unknown as [string, string, string, string];
      const values = new Map<string, number>();
      let broken = false;
      for (const field of fields.trim().split(/\s+/)) {
        const [, name, digits] = FIELD.exec(field) ?? [];
        if (name === undefined || digits === undefined) broken = true;
        else values.set(name, hexOf(digits));
      }
      const element = Number.parseInt(sign, 36);
      const count = values.get("X");
      if (broken) unread.push(line);
      else if (count !== undefined) counts.push({ test, element, count });
      else findings.push(findingOf(test, element, values));
    }
    if (findings.length + counts.length + verdicts.length + unread.length >= MOST) break;
  }
  return {
    verdicts,
    findings,
    counts,
    unread,
    ...(id === undefined ? {} : { id }),
    ...(end === undefined ? {} : { end }),
  };
}

function findingOf(test: string, element: number, values: ReadonlyMap<string, number>): Finding {
  const finding: Finding = { test, element };
  const [address, view, wanted, got] = ["A", "N", "W", "G"].map((name) => values.get(name));
  if (address !== undefined) finding.address = address;
  if (view !== undefined) finding.view = view;
  if (wanted !== undefined) finding.wanted = wanted;
  if (got !== undefined) finding.got = got;
  return finding;
}

/** Lines in capitals, without bits 7 and control characters. */
function linesOf(text: string): string[] {
  return text
    .replaceAll(/[\u0080-\u00ff]/g, (each) => String.fromCharCode(each.charCodeAt(0) & 0x7f))
    .split(/[\r\n]+/)
    .map((line) =>
      line
        .slice(0, LONGEST_LINE)
        .replaceAll(/[^ -~]/g, " ")
        .trim()
        .toUpperCase(),
    )
    .filter((line) => line !== "");
}
