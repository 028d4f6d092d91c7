import { readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { readBench } from "../bench/index.ts";
import { loadCatalogue } from "../catalogue/index.ts";
import { fitChain, makeReport } from "../fit/index.ts";
import { dossierHtml, gatherDossier, type JobFile, type LoggedEntry } from "./index.ts";

const text = readFileSync(new URL("../../../../demo/mended/bench.yaml", import.meta.url), "utf8");
const catalogue = loadCatalogue();
const { bench, where } = readBench(text, catalogue);
const chain = fitChain({ bench: bench!, catalogue, images: [] });
const report = makeReport("0", "bench.yaml", bench!, chain, [], where);

const record = (log: readonly LoggedEntry[], files: readonly JobFile[] = []) => {
  const dossier = gatherDossier({
    bench: bench!,
    text,
    report,
    chain,
    images: [],
    log,
    files,
    credits: [],
    unread: [],
  });
  return { dossier, html: dossierHtml(dossier, files) };
};
const fileOf = (path: string, bytes: Uint8Array): JobFile => ({ path, bytes, sha256: "ab" });
const ascii = (words: string): Uint8Array => Uint8Array.from(words, (each) => each.charCodeAt(0));

describe("the record", () => {
  it("bears any log and any files, and shows what they hold as text only", () => {
    const hostile = fc.constantFrom<unknown>(
      "<script>hurt()</script>",
      '"><img src=x onerror=hurt()>',
      null,
      7,
      [],
      {},
    );
    const entry = fc.record(
      {
        kind: fc.constantFrom("run-book", "write-certificate", "adapter-certificate", "why", "note", "<b>"),
        step: fc.constantFrom("inspect-case", "supply-off-load/+5 V", "gone"),
        what: fc.constantFrom("tick", "reading", "note", "file", "answer", "undo", "fresh"),
        basis: fc.constantFrom("0123456789abcdef", ""),
        id: hostile,
        at: fc.constantFrom<unknown>("2026-06-06T12:00:00+02:00", "soon", 3),
        note: hostile,
        reading: fc.constantFrom<unknown>("5 V", "1e400 V", "", 5),
        file: fc.constantFrom<unknown>({ path: "captures/a", sha256: "ab" }, { path: 7 }, null, "x"),
        image: fc.oneof(hostile, fc.constant({ name: "<i>", sha256: "ab" })),
        target: hostile,
        blocks: hostile,
        bad: hostile,
        badLeftOut: hostile,
        verified: fc.constantFrom<unknown>(true, "yes", null, 1),
        test: hostile,
        outcomes: fc.constantFrom<unknown>(["dark"], [7], null),
      },
      { requiredKeys: ["kind"] },
    );
    const file = fc.tuple(
      fc.constantFrom("captures/a", "captures/b.jsonl", "dossier/c.png", "dossier/<i>.txt", "images/d"),
      fc.oneof(
        fc.uint8Array({ maxLength: 60 }),
        fc
          .constantFrom(
            "\x89PNG\r\n\x1a\n",
            "BEGIN 12\nBEGIN 1234\nA BAD\nA1 G00\nEND BAD\n<script>",
            '{"format":"rouse-capture"',
          )
          .map(ascii),
      ),
    );
    fc.assert(
      fc.property(fc.array(entry, { maxLength: 6 }), fc.array(file, { maxLength: 4 }), (entries, files) => {
        const log = entries.map((each) => ({ time: "2026-06-06T12:00:00.000Z", entry: each }));
        const { dossier, html } = record(
          log,
          files.map(([path, bytes]) => fileOf(path, bytes)),
        );
        expect(/.{0,80}(<script|<img src=x|<b>|<i>|NaN|undefined|\[object).{0,40}/.exec(html)?.[0]).toBeUndefined();
        expect(() => JSON.stringify(dossier)).not.toThrow();
      }),
      { seed: 8493, numRuns: 150 },
    );
  });

  it("gives times in UTC, in whatever zone they were written", () => {
    const { html } = record([{ time: "2026-06-06T12:00:00+02:00", entry: { kind: "note", text: "noon" } }]);
    expect(html).toContain("<td>2026-06-06 10:00 UTC</td>");
  });

  it("takes a report of test programs from any text of the job, and nothing for one that only begins like it", () => {
    const { dossier } = record(
      [],
      [
        fileOf("dossier/typed.txt", ascii("begin 12AB\nA GOOD\nEND GOOD\n".toUpperCase())),
        fileOf("dossier/letter.txt", ascii("BEGIN 1999 with a clean sheet\n")),
        fileOf("images/other.txt", ascii("BEGIN 12AB\nA GOOD\n")),
      ],
    );
    expect(dossier.diagnostics.reports).toEqual([
      { file: "dossier/typed.txt", program: "12AB", verdicts: "A good", findings: 0, end: "good" },
    ]);
  });

  it("keeps photographs beyond its room by name only", () => {
    const photo = new Uint8Array(13 * 1024 * 1024).fill(1);
    photo.set(ascii("\x89PNG\r\n\x1a\n"));
    const { html } = record([], [fileOf("dossier/1.png", photo), fileOf("dossier/2.png", photo)]);
    expect(html.match(/<img /g)).toHaveLength(1);
    expect(html).toContain('<a href="job/dossier/2.png">');
  });
});
