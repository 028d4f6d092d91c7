import { spawnSync } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { fromIntelHex, fromSRecord } from "@rouse/core/bytes";
import { afterAll, describe, expect, it } from "vitest";

const ROUSE = fileURLToPath(new URL("../../bin/rouse.js", import.meta.url));
const folder = mkdtempSync(join(tmpdir(), "rouse-assemble-"));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

function rouse(...args: string[]) {
  const { status, stdout, stderr } = spawnSync(process.execPath, [ROUSE, "assemble", ...args], {
    cwd: folder,
    encoding: "utf8",
  });
  return { status, out: stdout, err: stderr };
}

const source = (name: string, text: string): string => {
  writeFileSync(join(folder, name), text);
  return name;
};

const GOOD = '\tcpu 6502\n\torg $1000\nstart\tlda #turns\n\tinclude "more.asm"\n\torg $1008\n\trts\n\tend start\n';
// LDA #, INX and RTS by the MCS6500 programming manual.
const BYTES = [0xa9, 20, 0xe8];

describe("rouse assemble", () => {
  it("writes all four forms of one program, and never over a file unasked", () => {
    source("more.asm", "\tinx\n");
    const file = source("good.asm", GOOD);
    const outs = ["--srec", "p.srec", "--ihex", "p.hex", "--raw", "p.bin", "--listing", "p.lst"];
    const first = rouse(file, "--define", "turns=20", "--fill", "$EA", ...outs);
    expect(first.err).toBe("");
    expect(first.status).toBe(0);
    const held = {
      segments: [
        { address: 0x1000, bytes: Uint8Array.from(BYTES) },
        { address: 0x1008, bytes: Uint8Array.of(0x60) },
      ],
      start: 0x1000,
    };
    expect(fromSRecord(readFileSync(join(folder, "p.srec"), "utf8"))).toMatchObject(held);
    expect(fromIntelHex(readFileSync(join(folder, "p.hex"), "utf8"))).toMatchObject(held);
    expect([...readFileSync(join(folder, "p.bin"))]).toEqual([...BYTES, ...Array<number>(5).fill(0xea), 0x60]);
    expect(readFileSync(join(folder, "p.lst"), "utf8")).toMatch(/^1000 +A9 14 +2 .*lda #turns$/m);

    const again = rouse(file, "--define", "turns=21", ...outs);
    expect(again.status).toBe(2);
    expect(again.err).toContain("p.srec is there already");
    expect(readFileSync(join(folder, "p.bin"))[1]).toBe(20);
    expect(rouse(file, "--define", "turns=21", "--force", ...outs).status).toBe(0);
    expect(readFileSync(join(folder, "p.bin"))[1]).toBe(21);
  });

  it("never takes the place of a source, or of another of its own outputs", () => {
    source("part.asm", "\tnop\n");
    const file = source("whole.asm", '\tcpu 6502\n\torg $1000\n\tinclude "part.asm"\n');
    symlinkSync("whole.asm", join(folder, "link.asm"));
    for (const target of ["whole.asm", "./part.asm", "link.asm", join(folder, "whole.asm")]) {
      const { status, err } = rouse(file, "--force", "--raw", target);
      expect([target, status]).toEqual([target, 2]);
      expect(err).toContain("is the source; name another file");
    }
    expect(rouse(file, "--raw", "both.bin", "--srec", "./both.bin").err).toContain("is named for another form already");
    expect(existsSync(join(folder, "both.bin"))).toBe(false);
    expect(readFileSync(join(folder, "whole.asm"), "utf8")).toContain("include");
    expect(readFileSync(join(folder, "part.asm"), "utf8")).toBe("\tnop\n");
  });

  it("says of a file that is no text that it is none, once", () => {
    writeFileSync(join(folder, "rom.asm"), Uint8Array.of(0x4c, 0x16, 0xe0, 0, 0x0a, 0x0a));
    const { status, err } = rouse("rom.asm");
    expect(status).toBe(2);
    expect(err).toBe("rouse: rom.asm is no source: a text has no byte 00, and it has one at offset 3.\n");
  });

  it("writes nothing where no byte is made, and says which number it cannot read", () => {
    const file = source("none.asm", "a equ 5\n");
    const { status, err } = rouse(file, "--raw", "none.bin");
    expect([status, existsSync(join(folder, "none.bin"))]).toEqual([2, false]);
    expect(err).toContain("none.asm makes no byte");
    expect(rouse(file).out).toContain("No byte is made.");
    expect(rouse(file, "--fill", "300").err).toContain("--fill is one byte");
    expect(rouse(file, "--fill", "zz").err).toContain("--fill is one byte");
    expect(rouse(file, "--define", "a=1,b=zz").err).toContain("“b=zz” is no definition");
  });

  it("tells every error with its caret, and writes nothing", () => {
    const file = source("bad.asm", "\tcpu z80\n\torg 0\n\tld a,missing\n\tlda #1\n");
    const { status, err } = rouse(file, "--raw", "bad.bin");
    expect(status).toBe(2);
    expect(err).toMatch(/^bad\.asm:3:\d+: /m);
    expect(err).toMatch(/^bad\.asm:4:\d+: /m);
    expect(err.match(/^\s*\^/gm)).toHaveLength(2);
    expect(existsSync(join(folder, "bad.bin"))).toBe(false);
    expect(JSON.parse(rouse(file, "--json").out).errors).toHaveLength(2);
  });

  it("includes nothing from outside the source's folder", () => {
    for (const name of ["/etc/hostname", "../bad.asm"]) {
      const { status, err } = rouse(source("outside.asm", `\tcpu 6809\n\torg 0\n\tinclude "${name}"\n`));
      expect(status).toBe(2);
      expect(err).toContain("outside.asm:3");
    }
  });
});
