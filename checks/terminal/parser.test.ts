import { spawnSync } from "node:child_process";
import { controlOf, escapeOf, Scanner, sequenceOf } from "@rouse/core/terminal";
import { describe, expect, it } from "vitest";
import { type Random, randomFrom } from "./streams.ts";

/** Our scanner beside the parser of libvterm, as Debian's `vterm-dump` (package libvterm-bin) writes down what it reads. */

const TOOL = "vterm-dump";

function theirs(bytes: Uint8Array): string {
  const { error, status, stdout, stderr } = spawnSync(TOOL, [], { input: bytes, encoding: "latin1" });
  if (error && "code" in error && error.code === "ENOENT")
    throw new Error("This check needs `vterm-dump`: install the Debian package libvterm-bin.");
  if (error) throw error;
  if (status !== 0) throw new Error(`vterm-dump ended with ${status}: ${stderr}`);
  // It breaks its own lines after what ends a line; no line end of the stream itself is left in its output.
  return stdout.replaceAll("\n", "");
}

const chr = (byte: number): string => String.fromCharCode(byte);
/**
 * They write every function that they know by its abbreviation. Where theirs is not that of ECMA-48, 5th edition, it
 * stands here: SO and SI by ECMA-35's names for 8-bit codes, which they exchange (ECMA-35 has 00/14 as LS1), the
 * separators by their older names, and one of their own.
 */
const THEIR_NAMES = new Map(
  Object.entries({ SO: "LS0", SI: "LS1", IS4: "FS", IS3: "GS", IS2: "RS", IS1: "US", SEE: "SSE" }),
);
const theirName = (name: string): string => THEIR_NAMES.get(name) ?? name;
/** IND was withdrawn, and they no longer know it; NUL they write as nothing at all. */
const controlName = (byte: number): string => {
  const { name } = controlOf(byte);
  const unknown = name === "IND" || controlOf(byte).kind === "unassigned";
  return unknown || byte === 0x99 ? `CONTROL 0x${byte.toString(16).padStart(2, "0")}` : theirName(name);
};

/** What we find, in their way of writing. */
function ours(bytes: Uint8Array): string {
  let found = "";
  const scanner = new Scanner({
    text: (piece, from, to) => {
      found += String.fromCharCode(...piece.subarray(from, to));
    },
    control(byte) {
      if (byte !== 0) found += `{${controlName(byte)}}`;
    },
    escape(intermediates, final) {
      const { kind, name } = escapeOf(intermediates, final);
      found += kind === "independent" ? `{ESC ${chr(final)}}` : `{${name}}`;
    },
    sequence({ lead, intermediates, final, count, values, sub }) {
      const written = [...values.subarray(0, count)].map(
        (each, i) => (i === 0 ? "" : sub[i] ? "+" : ",") + (each < 0 ? "*" : each),
      );
      const args = written.join("") || "*";
      const { name, kind } = sequenceOf(lead, intermediates, final);
      // With an intermediate byte they know none.
      if (kind === "sequence" && intermediates === 0) found += `{${theirName(name)} ${args}}`;
      else if (chr(lead) === "?" && intermediates === 0 && (chr(final) === "h" || chr(final) === "l"))
        found += `{${chr(final) === "h" ? "DECSM" : "DECRM"} ${args}}`;
      else
        found += `{CSI${lead ? ` ${chr(lead)}` : ""} ${args}${intermediates ? ` ${chr(intermediates)}` : ""} ${chr(final)}}`;
    },
    string: (opener, data) => {
      found += `{${controlOf(opener).name} ${String.fromCharCode(...data)}}`;
    },
    fault() {},
  });
  scanner.write(bytes);
  return found;
}

const text = (random: Random): string => Array.from({ length: 1 + random(8) }, () => chr(0x20 + random(0x5b))).join("");
const pick = (random: Random, from: string): string => from[random(from.length)]!;

function stream(seed: number): Uint8Array {
  const random = randomFrom(seed);
  const parts = Array.from({ length: 30 }, () => {
    const parameters = Array.from(
      { length: random(4) },
      () => (random(4) === 0 ? "1:" : pick(random, "01234579;;")) + pick(random, "0123"),
    ).join(pick(random, ";;"));
    switch (random(8)) {
      case 0:
      case 1:
        return text(random);
      case 2:
        return pick(random, "\u0005\u0007\b\t\n\u000b\f\r\u000e\u000f\u0010\u001c");
      case 3:
        return `\u001b${pick(random, "DEHMNO78=>cn|}~")}`;
      case 4:
        return `\u001b${pick(random, "()*+%#")}${pick(random, "AB0G8")}`;
      case 5:
        return `\u001b[${pick(random, "?><=")}${parameters.replaceAll(":", ";")}${pick(random, "hlcmJ")}`;
      case 6:
        return `\u001b${pick(random, "]P")}${random(10)};${text(random)}\u001b\\`;
      default:
        return `\u001b[${parameters}${random(3) === 0 ? pick(random, " $!") : ""}${chr(0x40 + random(0x3f))}`;
    }
  });
  return Uint8Array.from(parts.join(""), (each) => each.charCodeAt(0));
}

const STREAMS = 200;

describe("the scanner against libvterm's parser", () => {
  it(`reads ${STREAMS} random streams alike`, () => {
    for (let seed = 0; seed < STREAMS; seed++) {
      const bytes = stream(seed);
      expect(ours(bytes), `stream ${seed}: ${JSON.stringify(String.fromCharCode(...bytes))}`).toBe(theirs(bytes));
    }
  });

  it("gives every control and every final byte the same name", () => {
    const c0 = Array.from({ length: 0x20 }, (_, byte) => byte).filter((byte) => ![0x18, 0x1a, 0x1b].includes(byte));
    const strings = [0x50, 0x58, 0x5b, 0x5d, 0x5e, 0x5f];
    const c1 = Array.from({ length: 0x20 }, (_, i) => 0x40 + i).filter((byte) => !strings.includes(byte));
    const finals = Array.from({ length: 0x3f }, (_, i) => 0x40 + i);
    const all = [...c0, ...c1.flatMap((byte) => [0x1b, byte]), ...finals.flatMap((byte) => [0x1b, 0x5b, byte])];
    expect(ours(Uint8Array.from(all))).toBe(theirs(Uint8Array.from(all)));
    expect(ours(Uint8Array.from(all)).length).toBeGreaterThan(700);
  });
});
