import { expect, it } from "vitest";
import { assemble, listingText } from "./index.ts";

it("lists address, bytes, cycles, line and source, then errors and symbols", () => {
  const source = [
    " cpu 6809",
    " org $1000",
    "start lda #1 ; one",
    ' fcc "0123456789"',
    " lbne start",
    " bad",
    " if 0",
    " nop",
    " endif",
  ];
  expect(listingText(assemble(source.join("\n"), { file: "a.asm" }))).toBe(
    `                                        1   cpu 6809
1000                                    2   org $1000
1000  86 01                       2     3  start lda #1 ; one
1002  30 31 32 33 34 35 36 37           4   fcc "0123456789"
100A  38 39
100C  10 26 FF F0               5/6     5   lbne start
                                        6   bad
                                        7   if 0
                                        8   nop
                                        9   endif

a.asm:6:2: \`bad\` is neither an instruction of the 6809 nor a directive

1000  start
`,
  );
});

it("shows no control characters of the source", () => {
  expect(listingText(assemble(" ; \u001b[31m"))).not.toContain("\u001b");
});
