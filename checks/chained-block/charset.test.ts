import { spawnSync } from "node:child_process";
import { type CodeName, decodeText } from "@rouse/core/bytes";
import { describe, expect, it } from "vitest";

// Source: the character maps of the C library (registrations of ISO-IR: BS 4730, DIN 66003, NF Z 62-010, SEN 85 02 00
// annex B, DS 2089, NS 4551-1), asked through `iconv`: every printable position of each variant.
const PRINTABLE = Uint8Array.from({ length: 0x7f - 0x20 }, (_, i) => 0x20 + i);

const REFERENCE = "iconv";

const byReference = (name: string): string => {
  const run = spawnSync(REFERENCE, ["-f", name, "-t", "UTF-8"], { input: PRINTABLE });
  if (run.status !== 0) throw new Error(`${REFERENCE} cannot be asked: ${run.error ?? run.stderr}`);
  return run.stdout.toString("utf8");
};

describe("national variants of ISO 646 against the C library's maps", () => {
  it.each<[CodeName, string]>([
    ["plain", "ISO_646.IRV:1991"],
    ["GB", "ISO646-GB"],
    ["DE", "ISO646-DE"],
    ["FR", "ISO646-FR"],
    ["SE", "ISO646-SE"],
    ["DK/NO", "ISO646-DK"],
    ["DK/NO", "ISO646-NO"],
  ])("%s has every character of %s", (code, reference) => {
    // The two Nordic standards differ in 7E alone, tilde and overline; our one code for both shows the tilde.
    const expected = byReference(reference);
    expect(decodeText(PRINTABLE, code)).toBe(reference === "ISO646-NO" ? expected.replace("‾", "~") : expected);
  });
});
