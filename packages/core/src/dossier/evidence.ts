import type { Bench } from "../bench/index.ts";
import { readReport } from "../diagnose/index.ts";
import { answersOf, makeWhyModel, tellWhy } from "../diagnose/why/index.ts";
import { FormatError } from "../errors/index.ts";
import { type Chain, cautionsFor } from "../fit/index.ts";
import type { StepState } from "../runbook/index.ts";
import { type Capture, capturedBytes, readCapture, sessionText } from "../show/index.ts";
import { abilityOf, idealAbility } from "../terminal/index.ts";
import type {
  CaptureRecord,
  CertificateRecord,
  DiagnosticsRecord,
  JobFile,
  LoggedEntry,
  PhotoRecord,
  ReadingRecord,
} from "./types.ts";

/** Lines of a session that stand on the page, from its beginning and from its end. */
const LINES = 150;
/** Causes of a fault that are named. */
const CAUSES = 5;
/** A report of test programs is a few kilobytes. */
const REPORT_LIMIT = 8 * 1024 * 1024;

/** By their first bytes: JPEG (ITU-T T.81), PNG (ISO/IEC 15948), WebP (RFC 9649). */
const PHOTOS: readonly (readonly [type: string, pattern: RegExp])[] = [
  ["image/jpeg", /^\xff\xd8\xff/],
  ["image/png", /^\x89PNG\r\n\x1a\n/],
  ["image/webp", /^RIFF[\s\S]{4}WEBP/],
];
const photoType = (bytes: Uint8Array): string | undefined => {
  const head = characters(bytes.subarray(0, 12));
  return PHOTOS.find(([, pattern]) => pattern.test(head))?.[0];
};

function characters(bytes: Uint8Array): string {
  let text = "";
  for (let at = 0; at < bytes.length; at += 4096) text += String.fromCharCode(...bytes.subarray(at, at + 4096));
  return text;
}

/** Every reading that was kept, in the order of the steps. */
export const readingsOf = (states: readonly StepState[]): ReadingRecord[] =>
  states.flatMap(({ step, evidence }) =>
    evidence.flatMap(({ at, reading }) =>
      reading
        ? [
            {
              at,
              step: step.title,
              what: step.reading?.what ?? "",
              wanted: step.reading?.text ?? "",
              reading: reading.text,
              within: reading.within,
            },
          ]
        : [],
    ),
  );

const CERTIFICATES = ["write-certificate", "adapter-certificate"];
const object = (value: unknown): Readonly<Record<string, unknown>> =>
  typeof value === "object" && value !== null ? (value as Record<string, unknown>) : {};
const words = (value: unknown): string => (typeof value === "string" ? value : "");

export const certificatesOf = (log: readonly LoggedEntry[]): CertificateRecord[] =>
  log.flatMap(({ time, entry }) => {
    if (!CERTIFICATES.includes(words(entry.kind))) return [];
    const [image, target] = [object(entry.image), object(entry.target)];
    const leftOut = typeof entry.badLeftOut === "number" ? entry.badLeftOut : 0;
    const bad = (Array.isArray(entry.bad) ? entry.bad.length : 0) + leftOut;
    return [
      {
        time,
        image: words(image.name),
        sha256: words(image.sha256),
        target: [words(target.path), words(target.model)].filter((each) => each !== "").join(", "),
        blocks: typeof entry.blocks === "number" ? entry.blocks : null,
        verified: entry.verified === true,
        bad,
      },
    ];
  });

/** A capture's lines, or why it is none. */
function captureRecord(bench: Bench, { path, sha256 }: JobFile, capture: Capture): CaptureRecord {
  const { started, port, rate, frame } = capture.head;
  const terminal = (bench.show?.terminal ?? bench.terminals[0])?.class;
  const lines = sessionText(capture, terminal ? abilityOf(terminal) : idealAbility())
    .split("\n")
    .slice(0, -1);
  const leftOut = Math.max(0, lines.length - 2 * LINES);
  return {
    file: path,
    sha256,
    started,
    port,
    rate,
    frame,
    seconds: capture.entries.at(-1)?.t ?? 0,
    received: capturedBytes(capture, "in").bytes.length,
    sent: capturedBytes(capture, "out").bytes.length,
    bad: capture.bad.length + (capture.torn ? 1 : 0),
    text: leftOut > 0 ? [...lines.slice(0, LINES), ...lines.slice(-LINES)] : lines,
    leftOut,
  };
}

/** What the job's files are evidence of: sessions, photographs, and what test programs printed. */
export function filesAsEvidence(
  bench: Bench,
  files: readonly JobFile[],
  states: readonly StepState[],
): {
  captures: CaptureRecord[];
  photos: PhotoRecord[];
  reports: DiagnosticsRecord["reports"];
  unread: string[];
} {
  const captures: CaptureRecord[] = [];
  const photos: PhotoRecord[] = [];
  const reports: DiagnosticsRecord["reports"][number][] = [];
  const unread: string[] = [];
  const keptAt = (path: string) =>
    states.flatMap(({ step, evidence }) => (evidence.some(({ file }) => file?.path === path) ? [step.title] : []));
  const named = new Set(states.flatMap(({ evidence }) => evidence.flatMap(({ file }) => file?.path ?? [])));
  for (const file of files) {
    const { path, bytes, sha256 } = file;
    if (!/^(captures|dossier)\//.test(path) && !named.has(path)) continue;
    const type = photoType(bytes);
    if (type !== undefined) {
      photos.push({ file: path, sha256, size: bytes.length, type, steps: keptAt(path) });
      continue;
    }
    let printed: Uint8Array = bytes;
    if (/^captures\/.*\.jsonl$/i.test(path))
      try {
        const capture = readCapture(bytes);
        captures.push(captureRecord(bench, file, capture));
        printed = capturedBytes(capture, "in").bytes;
      } catch (error) {
        if (!(error instanceof FormatError)) throw error;
        unread.push(`${path}: ${error.message}`);
        continue;
      }
    if (printed.length > REPORT_LIMIT) continue;
    const { id, verdicts, findings, end } = readReport(characters(printed));
    if (id === undefined || (verdicts.length === 0 && findings.length === 0 && end === undefined)) continue;
    reports.push({
      file: path,
      program: id,
      verdicts: verdicts.map(({ test, good }) => `${test} ${good ? "good" : "bad"}`).join(", "),
      findings: findings.length,
      end: end ?? null,
    });
  }
  return { captures, photos, reports, unread };
}

/** The search for a fault that the log holds, and what it came to. */
export function searchOf(
  bench: Bench,
  chain: Chain,
  log: readonly LoggedEntry[],
): Pick<DiagnosticsRecord, "answers" | "causes"> {
  const answers = answersOf(log);
  if (answers.length === 0) return { answers: [], causes: [] };
  const told = tellWhy(makeWhyModel(bench, chain.findings), answers, cautionsFor(bench));
  return {
    answers: told.answers.map(({ at, title, found, reading }) => ({ at, test: title, found, reading })),
    causes: told.causes.slice(0, CAUSES).map(({ part, chance }) => ({ part, chance })),
  };
}
