import * as z from "zod";
import { LINKS } from "./types.ts";

/** The shape of `rouse check --json`, version 1. A test holds real reports to it. */
const source = z.strictObject({
  id: z.string(),
  title: z.string(),
  kind: z.enum(["standard", "data sheet", "manual", "arithmetic", "common practice", "memory", "user"]),
});

const verdict = z
  .enum(["runs", "tight", "stops", "unknown"])
  .describe("runs; tight: works with less margin than is wise; stops; unknown: a number is missing.");

const figure = z.strictObject({
  label: z.string(),
  value: z.string().describe("With its unit, as shown to people."),
  from: z.enum(["bench", "catalogue", "image", "arithmetic"]),
  path: z.string().optional().describe("Key in the bench file, or file and offset on the image."),
  source: source.optional(),
});

const finding = z.strictObject({
  id: z.string().describe("The check's id, and after a slash the part of the bench it speaks of."),
  link: z.enum(LINKS),
  verdict,
  sentence: z.string(),
  figures: z.array(figure),
  formula: z.string().optional(),
  result: z.string().optional(),
  margin: z.string().optional(),
  remedy: z.string().optional().describe("Always there for stops and tight."),
  missing: z.array(z.string()).optional().describe("Keys of the bench file that would settle an unknown."),
  sources: z.array(source),
  caution: z.string().optional(),
  at: z.string().optional().describe("Key in the bench file that it speaks of."),
  line: z.int().nullable(),
  column: z.int().nullable(),
});

export const reportSchema = z
  .strictObject({
    format: z.literal("rouse-report"),
    version: z.literal(1),
    madeBy: z.string().describe("Version of Rouse."),
    bench: z.strictObject({ file: z.string(), name: z.string().nullable(), about: z.string().nullable() }),
    issues: z
      .array(
        z.strictObject({
          line: z.int(),
          column: z.int(),
          length: z.int(),
          path: z.string(),
          sentence: z.string(),
        }),
      )
      .describe("What is wrong with the bench file itself; then there is no chain."),
    verdict: verdict.nullable(),
    links: z.array(
      z.strictObject({
        link: z.enum(LINKS),
        verdict,
        findings: z.array(finding),
        missing: z
          .array(z.string())
          .optional()
          .describe("Where there is no finding: keys that would describe the link."),
      }),
    ),
    cautions: z.array(z.strictObject({ code: z.string(), title: z.string(), sentence: z.string() })),
    images: z.array(
      z.strictObject({
        name: z.string(),
        file: z.string(),
        size: z.int(),
        sha256: z.string().nullable(),
        kind: z.string().nullable(),
        format: z.string().nullable(),
        label: z.string().nullable(),
        condition: z.string().nullable(),
        needs: z.array(
          z.looseObject({
            kind: z.string(),
            evidence: z.array(z.strictObject({ file: z.string(), offset: z.int(), text: z.string() })),
          }),
        ),
      }),
    ),
  })
  .describe("A report of rouse check, version 1.");

export const reportJsonSchema = (): object => z.toJSONSchema(reportSchema);
