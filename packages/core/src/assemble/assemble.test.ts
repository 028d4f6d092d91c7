import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { assemble } from "./index.ts";
import type { AssembleOptions, Assembly } from "./types.ts";

const hexOf = (bytes: Uint8Array): string => Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");

/** Every byte in order of address; the source must be free of errors. */
function code(source: string, options?: AssembleOptions): string {
  const { errors, segments } = assemble(source, options);
  expect(errors).toEqual([]);
  return segments.map(({ bytes }) => hexOf(bytes)).join("|");
}

const on6809 = (...lines: string[]): string => [" cpu 6809", " org $1000", ...lines].join("\n");
const told = ({ errors }: Assembly): string[] =>
  errors.map(({ line, column, sentence }) => `${line}:${column} ${sentence}`);

describe("expressions", () => {
  it.each([
    ["2+3*4", 14],
    ["(2+3)*4", 20],
    ["1<<4|3&1", 17],
    ["7-2-1", 4],
    ["-2*-3", 6],
    ["~0", -1],
    ["!0 + !5", 1],
    ["17 % 5", 2],
    ["100/7", 14],
    ["3 = 3 && 2 <> 3", 1],
    ["1 > 2 || 2 >= 2", 1],
    ["$1F + 0x1F + 1Fh", 93],
    ["%1010 + 1010b", 20],
    ["@17 + 17q", 30],
    ["5 %%11", 2],
    ["'A + 'B'", 131],
    ['"A"', 65],
    ["low($1234)", 0x34],
    ["high($1234)+1", 0x13],
    ["<$1200+$34", 0x34],
    [">$1200+$134", 0x13],
    ["* - start", 2],
    ["$ - start", 2],
    ["**2 - start*2", 4],
    ["$ffffffff", -1],
    ["$7fff*2", 65534],
    ["1<<31>>31", 1],
    ["1<<32", 0],
  ])("makes %s come to %i", (text, value) => {
    const { errors, symbols } = assemble(on6809("start fdb 0", `name equ ${text}`));
    expect(errors).toEqual([]);
    expect(symbols.get("name")).toBe(value);
  });

  it.each([
    ["1/0", "3:13 This divides by zero"],
    ["5 % (2-2)", "3:16 This divides by zero"],
    ["(1+2", "3:15 The line ends here"],
    ["1+", "3:13 The line ends here"],
    ["1 2", "3:13 `2` is not allowed here"],
    ["$1G", "3:12 This is not a number"],
    ["12x", "3:11 This is not a number"],
    ["$123456789", "3:11 This number needs more than 32 bits"],
    ["nowhere", "3:11 `nowhere` is defined nowhere"],
    ["'é'", "3:11 The text has a character outside ISO 646"],
    ['"open', "3:11 The text that starts here is not closed"],
  ])("says what is wrong with %s", (text, sentence) => {
    expect(told(assemble(on6809(`name equ  ${text}`)))[0]).toBe(sentence);
  });
});

describe("errors", () => {
  it("are all told at once, in order, each with its caret and what was expected", () => {
    const { errors } = assemble(on6809("loop\tlda #300", " foo", " ldx ,y+++", " stx #1", "loop rts"), {
      file: "rom.asm",
    });
    expect(errors.map(({ file, line, column }) => [file, line, column])).toEqual([
      ["rom.asm", 3, 11],
      ["rom.asm", 4, 2],
      ["rom.asm", 5, 10],
      ["rom.asm", 6, 6],
      ["rom.asm", 7, 1],
    ]);
    expect(errors[0]).toMatchObject({ code: "range", sentence: "300 does not fit a byte", expected: "-128 to 255" });
    expect(errors[0]!.caret).toBe("loop lda #300\n          ^");
    expect(errors[3]).toMatchObject({ code: "operand", expected: "an address or an indexed operand such as `4,X`" });
    expect(errors[4]).toMatchObject({ code: "twice", sentence: "`loop` is defined already, on line 3 of rom.asm" });
  });

  it("leave the bytes that could be made", () => {
    const { segments } = assemble(on6809(" nop", " foo", " rts"));
    expect(segments.map(({ bytes }) => hexOf(bytes))).toEqual(["1239"]);
  });

  it("ask for the CPU before the first instruction", () => {
    expect(told(assemble(" nop"))).toEqual(["1:2 No CPU is named before the first instruction"]);
    expect(told(assemble(" cpu 6800"))).toEqual(["1:6 `6800` is no CPU that is known here"]);
  });

  it("tell of two pieces that fall on one another", () => {
    expect(told(assemble(on6809(" fdb 1,2", " org $1003", " nop")))).toEqual([
      "5:1 Bytes from here on fall on those placed from line 3 of source on",
    ]);
  });

  it("tell of code past the end of the address space", () => {
    expect(told(assemble(" cpu 6809\n org $ffff\n ldd #1"))).toEqual([
      "3:1 This runs past the end of the address space, $FFFF",
    ]);
  });

  it("tell of a name that depends on itself, and end", () => {
    expect(told(assemble("a equ b+1\nb equ a+1"))).toEqual([
      "1:7 `b` has no value: it is made from a name that has none, or from itself",
      "2:7 `a` has no value: it is made from a name that has none, or from itself",
    ]);
    const moving = assemble(" cpu 6809\n if late > 10\n nop\n else\n rmb 20\n endif\nlate rts");
    expect(moving.errors.map(({ code: found }) => found)).toEqual(["limit"]);
  });

  it("cut a long line round the caret, and show no control characters", () => {
    const [error] = assemble(`${" ".repeat(500)}fcb \u001b[31m nowhere`).errors;
    expect(error!.column).toBe(505);
    const [shown, mark] = error!.caret.split("\n");
    expect(shown!.length).toBeLessThan(130);
    expect(shown![mark!.length - 1]).toBe(" ");
    expect(error!.caret).not.toContain("\u001b");
  });
});

describe("labels", () => {
  it("may stand in the first column or end with a colon", () => {
    expect(code(on6809("one nop", "  two: nop", "three", "four: ", " fdb one,two,three,four"))).toBe(
      "12121000100110021002",
    );
  });

  it("may bear the name of another CPU's instruction", () => {
    expect(code(on6809("out rts", " bra out"))).toBe("3920fd");
  });

  it("that begin with a full stop belong to the global label before", () => {
    const source = on6809("a bra .x", ".x nop", "b bra .x", ".x rts", " fdb a.x");
    expect(code(source)).toBe("20001220003910" + "02");
    expect(assemble(source).symbols.get("b.x")).toBe(0x1005);
  });

  it("inside a repeat belong to their turn, and those outside are still seen", () => {
    expect(code(on6809("a nop", ".out nop", " repeat 2", ".in bra .in", " bra .out", " endrepeat"))).toBe(
      "1212" + "20fe20fb" + "20fe20f7",
    );
  });
});

describe("structure", () => {
  it("takes one side of an if", () => {
    const source = (value: number) =>
      on6809(`v equ ${value}`, " if v > 2", " fcb 1", " else", " fcb 2", " endif", " fcb 3");
    expect(code(source(3))).toBe("0103");
    expect(code(source(2))).toBe("0203");
  });

  it("decides by names that are given from outside, or that come later", () => {
    expect(code(" if rom\n fcb 1\n endif", { defines: { rom: 1 } })).toBe("01");
    expect(code(" if late\n fcb 1\n endif\nlate equ 1")).toBe("01");
    expect(told(assemble("rom equ 2", { defines: { rom: 1 } }))).toEqual([
      "1:1 `rom` is defined already, before the first line",
    ]);
  });

  it("repeats with a counter, nested", () => {
    expect(code(" repeat 2, i\n repeat 3, j\n fcb i*16+j\n endrepeat\n endrepeat")).toBe("000102101112");
    expect(code(" repeat 0\n fcb 1\n endrepeat\n fcb 2")).toBe("02");
  });

  it.each([
    [" if 1\n fcb 1", "1:2 This `if` has no `endif` after it"],
    [" endif", "1:2 This `endif` has no `if` before it"],
    [" else", "1:2 This `else` has no `if` before it"],
    [" if 1\n else\n else\n endif", "3:2 This `else` has no `if` before it"],
    [" repeat 3", "1:2 This `repeat` has no `endrepeat` after it"],
    [" if 1\n endrepeat\n endif", "2:2 This `endrepeat` has no `repeat` before it"],
    [" layout\nx rmb 1", "1:2 This `layout` has no `endlayout` after it"],
    [' module "a", type=1', "1:2 This `module` has no `endmodule` after it"],
    ["here if 1", "1:6 `if` stands alone on its line, without a label"],
  ])("says what has no partner in %j", (source, sentence) => {
    expect(told(assemble(source))).toEqual([sentence]);
  });

  it("takes a byte order mark before the first line", () => {
    expect(code("\ufeff fcb 1")).toBe("01");
  });

  it("includes files, and tells of errors in them by their name", () => {
    const files: Record<string, string> = { "ports.inc": "port equ $e000\n bad", "self.inc": ' include "self.inc"' };
    const include = (name: string) => files[name];
    const result = assemble(on6809(' include "ports.inc"', " sta port"), { include });
    expect(result.errors.map(({ file, line }) => [file, line])).toEqual([["ports.inc", 2]]);
    expect(result.symbols.get("port")).toBe(0xe000);
    expect(told(assemble(' include "none"', { include }))).toEqual(["1:10 There is no file `none` to include"]);
    expect(told(assemble(' include "self.inc"', { include }))[0]).toContain("deeper than 16");
  });

  it("ends at `end`, which may name the start", () => {
    expect(assemble(on6809(" nop", "go rts", " end go", " garbage ###", " if you read on", "else"))).toMatchObject({
      errors: [],
      start: 0x1001,
    });
  });
});

describe("data", () => {
  it.each([
    [' fcb 1,-1,255,"ab",\'c', "01ffff616263"],
    [" fdb $1234,-2", "1234fffe"],
    [" fcc /it's/,13", "697427730d"],
    [' fcc "say ""x"""', "7361792022782" + "2"],
    [' lasthi "abc","d"', "6162e3e4"],
    [" fcb 1\n rmb 2\n fcb 2", "01|02"],
    [" fcb 1\n ds 2,$ff\n fcb 2", "01ffff02"],
    [" fcb 1\n align 4\n fcb 2\n align 2,$12\n", "010000000212"],
  ])("places %j", (source, bytes) => {
    expect(code(on6809(source))).toBe(bytes);
  });

  it("has words in the order of the CPU", () => {
    expect(code(" cpu z80\n dw 1234h\n db 'hello'\n defb 0")).toBe("341268656c6c6f00");
    expect(code(" cpu 6502\n dw $1234")).toBe("3412");
  });

  it("lays out names without placing bytes", () => {
    const result = assemble(on6809(" layout", "a rmb 2", "b rmb 1", "size equ *", " endlayout", "here nop"));
    expect([...result.symbols]).toEqual([
      ["a", 0],
      ["b", 2],
      ["size", 3],
      ["here", 0x1000],
    ]);
    expect(result.segments).toHaveLength(1);
  });

  it("says that an assertion fails, in its own words", () => {
    expect(told(assemble(on6809(' assert * < $1000, "the ROM is full"', " assert 1")))).toEqual([
      "3:9 the ROM is full",
    ]);
  });
});

describe("modules", () => {
  // Both worked by hand from the layout of the header and the CRC's catalogue parameters (shared facts, media (e)).
  it("come out as the worked data module of 16 bytes", () => {
    expect(code(' module "test", type=4, attributes=8, revision=1\n endmodule')).toBe(
      "87cd0010000940816d746573f46ba6cb",
    );
  });

  it("come out as the worked program module of 24 bytes, at any address", () => {
    const body = [' module "test", type=1, language=1, attributes=8, revision=1, entry=go, storage=$40'];
    const source = [...body, "go clrb", " swi2", " fcb 6", " endmodule"];
    const bytes = "87cd0018000d11813000110040746573f45f103f0602bb3d";
    expect(code([" cpu 6809", ...source].join("\n"))).toBe(bytes);
    expect(code([" cpu 6809", " org $f400", ...source].join("\n"))).toBe(bytes);
  });

  it("may place the name after more header, an edition behind it, and zeros for reserved bytes", () => {
    const source = ' cpu 6809\n module type=15, revision=2\n fdb 9\n modulename "d0", edition=3\n rmb 2\n endmodule';
    expect(code(source)).toMatch(/^87cd0013000bf0025f000964b0030000......$/);
  });

  it.each([
    [' module "a"\n endmodule', "1:2 A module needs its type"],
    [" module type=1\n endmodule", "2:2 The module has no name"],
    [' module "a", type=1\n org 5\n endmodule', "2:2 A module is one piece: `org` cannot stand inside it"],
    [' module "a", type=16\n endmodule', "1:19 16 does not fit `type`"],
    [' module "a", kind=1\n endmodule', "1:14 `kind` is not allowed here"],
    [" endmodule", "1:2 This `endmodule` has no `module` before it"],
    [' modulename "a"', "1:2 This stands outside a module"],
    [' module "a", type=1, storage=5\n endmodule', "1:30 `storage` stands in the header only after `entry`"],
  ])("say what is wrong in %j", (source, sentence) => {
    expect(told(assemble(source))[0]).toBe(sentence);
  });
});

describe("sizes", () => {
  it("are the shortest that reach, also for names that come later", () => {
    expect(code(on6809(" lda near,pcr", " rmb 100,0", "near rts"))).toMatch(/^a68c64/);
    expect(code(on6809(" lda far,pcr", " rmb 128,0", "far rts"))).toMatch(/^a68d0080/);
    expect(code(on6809(" lda page", "page equ $20"))).toBe("9620");
    expect(code(on6809(" setdp $20", " lda $2012", " lda $12"))).toBe("9612b60012");
  });

  it("settle where each that grows pushes the next out of reach", () => {
    // In its short form each line is 3 bytes and reaches 127 bytes on: 42 lines, when none of them is long. The last 42 are
    // too far from their targets, and so they grow, and then the 42 lines before them …
    const chain = Array.from({ length: 400 }, (_, i) => `t${i} leax t${i + 43},pcr`);
    const tail = Array.from({ length: 43 }, (_, i) => (i === 42 ? "t442 rmb 1,0" : `t${400 + i} rmb ${i ? 3 : 5},0`));
    const { errors, passes, listing } = assemble(on6809(...chain, ...tail));
    expect(errors).toEqual([]);
    expect(passes).toBeGreaterThan(8);
    expect(listing.filter(({ bytes }) => bytes[1] === 0x8d)).toHaveLength(400);
  });
});

describe("any text at all", () => {
  const words = fc.constantFrom(
    "cpu",
    "6809",
    "z80",
    "6502",
    "org",
    "equ",
    "=",
    "fcb",
    "fcc",
    "repeat",
    "endrepeat",
    "if",
    "else",
    "endif",
    "module",
    "endmodule",
    "layout",
    "endlayout",
    "include",
    '"a"',
    "type=1",
    "rmb",
    "align",
    "setdp",
    "lda",
    "ld",
    "leax",
    "pshs",
    "(ix+5)",
    "[,x++]",
    ",pcr",
    "a",
    "x",
    ".l",
    "*",
    "$",
    "$10",
    "70000",
    "(",
    ")",
    "<",
    ">",
    "#",
    ",",
    "+",
    "'",
    '"',
    ";",
    ":",
    "\n",
    "\n",
    "\n ",
    "\t",
    "end",
    "lasthi",
  );

  it("ends without throwing, with errors inside the text", () => {
    const texts = fc.oneof(
      fc.string({ unit: "binary", maxLength: 200 }),
      fc.array(words, { maxLength: 80 }).map((list) => list.join(" ")),
    );
    fc.assert(
      fc.property(texts, (text) => {
        const { errors } = assemble(text, { include: () => text });
        const lines = text.split(/\r\n|\r|\n/);
        for (const { line, column } of errors) {
          expect(line).toBeLessThanOrEqual(lines.length);
          expect(column).toBeLessThanOrEqual(lines[line - 1]!.length + 1);
        }
      }),
      { numRuns: 300, seed: 6809 },
    );
  });

  it.each([
    ["nested repeats", " repeat 200000\n repeat 200000\n fcb 1\n endrepeat\n endrepeat"],
    ["a flood of bytes", " repeat 1000\n org 0\n rmb 65536,1\n endrepeat"],
    ["a circle of names in a long repeat", "a equ b+1\nb equ a+1\n repeat 200000\n fcb a\n endrepeat"],
    [
      "a long repeat that never comes to rest",
      " if late > 10\n db 1\n else\n rmb 20\n endif\n repeat 80000\n assert 1\n endrepeat\nlate db 2",
    ],
    ["deep parentheses", ` fcb ${"(".repeat(20_000)}`],
    ["a forest of signs", ` fcb ${"-".repeat(20_000)}1`],
    ["an endless sum", ` fcb ${"1+".repeat(20_000)}1`],
    ["deep conditionals", " if 1\n".repeat(20_000)],
    ["a long line", ` fcb ${"1,".repeat(100_000)}`],
  ])("comes to an end on %s", (_, source) => {
    const started = performance.now();
    expect(assemble(source).errors.length).toBeGreaterThan(0);
    expect(performance.now() - started).toBeLessThan(5000);
  });
});

it("assembles 5,000 lines well under a second", () => {
  const lines = Array.from({ length: 1000 }, (_, i) => [
    `l${i} ldx #l${999 - i}`,
    ".loop lda ,x+",
    " sta buffer+5",
    " bne .loop",
    " lbsr l0",
  ]);
  const source = [" cpu 6809", " org $1000", ...lines.flat(), "buffer equ $f000"].join("\n");
  const times = [1, 2, 3].map(() => {
    const started = performance.now();
    expect(assemble(source).errors).toEqual([]);
    return performance.now() - started;
  });
  expect(Math.min(...times)).toBeLessThan(1000);
});
