import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { asciiBytes } from "../bytes/index.ts";
import { commandFile, programFile, readAccounts, readCommandList, readScript, withoutPassword } from "./startup.ts";

describe("readAccounts", () => {
  const file = asciiBytes("guide,lantern,0,128,/d0/cmds,/d0,shell\rguest,,3,100,cmds,home,shell -p\r");

  it("gives the fields of each line, and of the password only whether one is set", () => {
    expect(readAccounts(file)).toEqual([
      {
        line: 1,
        name: "guide",
        passwordSet: true,
        user: 0,
        priority: 128,
        commandFolder: "/d0/cmds",
        dataFolder: "/d0",
        program: "shell",
      },
      {
        line: 2,
        name: "guest",
        passwordSet: false,
        user: 3,
        priority: 100,
        commandFolder: "cmds",
        dataFolder: "home",
        program: "shell -p",
      },
    ]);
    expect(JSON.stringify(readAccounts(file))).not.toContain("lantern");
  });

  it("does not take a list of other things for accounts", () => {
    expect(readAccounts(asciiBytes("bread, butter, 2, 3 of these\rmilk, two\rtea\r"))).toEqual([]);
  });

  it("never gives a password out, whatever it is", () => {
    fc.assert(
      fc.property(fc.stringMatching(/^[a-z0-9 ;/]{4,12}$/), (word) => {
        const secret = `zq${word}qz`;
        expect(JSON.stringify(readAccounts(asciiBytes(`guide,${secret},1,2,a,b,shell\r`)))).not.toContain(secret);
        expect(withoutPassword(`guide,${secret},1,2,a,b,shell`)).not.toContain(secret);
      }),
      { seed: 6809 },
    );
  });
});

describe("readScript", () => {
  it("tells commands, loaded modules and devices, and leaves remarks and built-in commands alone", () => {
    const lines = readScript(
      asciiBytes("* set up\rchd /d0/home\rload printer >/p; date t &\rlist <notes ! page #8k\r"),
    );
    expect(lines.map(({ line, asks, devices }) => ({ line, asks, devices }))).toEqual([
      { line: 1, asks: [], devices: [] },
      { line: 2, asks: [], devices: ["d0"] },
      { line: 3, asks: ["load", "printer", "date"], devices: ["p"] },
      { line: 4, asks: ["list", "page"], devices: [] },
    ]);
    expect(lines[1]).toMatchObject({ offset: 9, text: "chd /d0/home" });
  });

  it("shows no control character of a line", () => {
    expect(readScript(asciiBytes("echo \x1b[2J\r"))[0]!.text).toBe("echo .[2J");
  });

  it("takes any bytes", () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 300 }), (bytes) => {
        for (const line of [...readScript(bytes), ...readCommandList(bytes)])
          expect(line.text).toMatch(/^[\x20-\x7e]*$/);
      }),
      { seed: 6809, numRuns: 500 },
    );
  });
});

describe("readCommandList", () => {
  it("tells the first word of each line unless the interpreter holds it", () => {
    const lines = readCommandList(asciiBytes("DIR\r\nB:CLOCK SET\r\n; a remark\r\nprint notes\r\n\x1a\x1a"));
    expect(lines.map((each) => each.asks)).toEqual([[], ["CLOCK"], [], ["print"]]);
  });
});

describe("programs with a fixed place", () => {
  it("start where a chained-block program's first two bytes say", () => {
    expect(programFile("one", Uint8Array.of(0x01, 0x08, 1, 2, 3))).toMatchObject({
      loadAt: 0x0801,
      size: 3,
      last: 0x0803,
    });
    expect(programFile("two", Uint8Array.of(1))).toBeNull();
  });

  it("start at 0100 on extent-entry volumes", () => {
    expect(commandFile("CLOCK.COM", 0x1e00)).toMatchObject({ loadAt: 0x100, last: 0x1eff });
  });
});
