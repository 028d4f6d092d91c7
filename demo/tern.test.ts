import { fileURLToPath } from "node:url";
import { beforeAll, describe, expect, it } from "vitest";
import { Larkfield9 } from "./larkfield-9.ts";
import { ternDisk, ternRoms } from "./tern.ts";

/** Tern as a running system, on the plain model of its machine. One machine for all: each test goes on where the last stopped. */

const FOLDER = fileURLToPath(new URL("tern", import.meta.url));
const disk = ternDisk(FOLDER);
const roms = ternRoms(FOLDER);
const PROMPT = "tern: ";
const LOGIN = "login: ";

let machine: Larkfield9;
beforeAll(() => {
  machine = new Larkfield9(disk, roms);
  machine.run(30, () => machine.console.shown.endsWith(LOGIN));
});

const lines = (shown: string): string[] => shown.replaceAll("\r", "").split("\n");

describe("the start", () => {
  it("tests the memory, reads the boot file and comes to a login", () => {
    expect(lines(machine.console.shown).filter((each) => each !== "")).toEqual([
      "Larkfield 9, monitor 1",
      "48 K main memory good",
      "8 banks of 8 K good",
      expect.stringMatching(/^Reading the disk \.+$/),
      "Tern, edition 1",
      "      Larkfield Museum, open day",
      "  This computer is older than most of",
      "  the people who built its exhibition.",
      "  Log in as visitor; no password.",
      "memory in blocks of 4 K:",
      "ssssssss123.................",
      "s system, 1 to 8 a process, . free",
      expect.stringMatching(/^68 K free; programs take \d+$/),
      "of 12288 bytes of the module area",
      "process 3",
      LOGIN,
    ]);
    expect(machine.second.shown).toContain(LOGIN);
    // What the benches state as show.banner.
    expect(machine.console.shown).toHaveLength(454);
  });

  it("keeps its own lines within the forty columns of the stage terminal", () => {
    expect(Math.max(...lines(machine.console.shown).map((each) => each.length))).toBeLessThanOrEqual(40);
  });
});

describe("logging in", () => {
  it("takes a visitor without a password", () => {
    machine.say(machine.console, "visitor\r", PROMPT);
    expect(machine.say(machine.console, "processes\r", PROMPT)).toMatch(/4 {4}2 {4}10 {5}\d+ +shell/);
  });

  it("refuses a wrong password and a stranger, shows no password, and takes the right one", () => {
    machine.say(machine.second, "stranger\r", LOGIN);
    machine.say(machine.second, "keeper\r", "password: ");
    const refused = machine.say(machine.second, "gull\r", LOGIN, 20, false);
    expect(refused).toContain("no such name and password");
    expect(refused).not.toContain("gull");
    machine.say(machine.second, "keeper\r", "password: ");
    machine.say(machine.second, "sandpiper\r", PROMPT, 20, false);
    expect(machine.second.shown).not.toContain("sandpiper");
  });
});

describe("the shell", () => {
  it("lists a folder, and shows a text byte for byte", () => {
    const listed = machine.say(machine.console, "list\r", PROMPT);
    for (const name of ["day", "machine", "notice", "poem", "system"]) expect(listed).toContain(name);
    const poem = lines(machine.say(machine.console, "text poem\r", PROMPT));
    expect(poem.slice(1, 5)).toEqual([
      "A tern flies low along the shore",
      "and counts what tides have left it for,",
      "then turns, as every turn must go,",
      "and leaves the next its place below.",
    ]);
  });

  it("lets a line be corrected while it is typed", () => {
    const shown = machine.say(machine.console, "tuxx\b\b\bext poem\r", PROMPT);
    expect(shown).toContain("A tern flies low");
  });

  it.each([
    ["nothing\r", "there is none of that name"],
    ["text /d0/visitors/none\r", "there is none of that name"],
    ["text poem/line\r", "that is the wrong kind of thing"],
    ["list /d9\r", "there is none of that name"],
    ["stop 1\r", "that is not allowed"],
  ])("says why %j fails", (typed, reason) => {
    expect(machine.say(machine.console, typed, PROMPT)).toContain(reason);
  });

  it("computes right", () => {
    expect(machine.say(machine.console, "primes 50\r", PROMPT)).toMatch(
      /2 3 5 7 11 13 17 19 \r\n23 29 31 37 41 43 47 \r\n15 primes/,
    );
  });

  it("tells the time within a second", () => {
    const started = machine.seconds;
    const told = (shown: string): number => {
      const [, hours, minutes, seconds] = /(\d\d):(\d\d):(\d\d)/.exec(shown)!;
      return Number(hours) * 3600 + Number(minutes) * 60 + Number(seconds);
    };
    const first = told(machine.say(machine.console, "time\r", PROMPT));
    machine.run(62);
    const second = told(machine.say(machine.console, "time\r", PROMPT));
    expect(Math.abs(second - first - (machine.seconds - started))).toBeLessThan(2);
  });
});

describe("two at a time", () => {
  it("computes for one and answers the other", () => {
    const started = machine.say(machine.console, "primes 60000 &\r", PROMPT);
    const number = /process (\d)/.exec(started)![1]!;
    const from = machine.console.shown.length;
    expect(machine.say(machine.second, "text history\r", PROMPT)).toContain("two terminals");
    machine.run(2);
    expect(machine.console.shown.length).toBeGreaterThan(from + 100);
    const before = machine.say(machine.second, "processes\r", PROMPT);
    expect(before).toMatch(new RegExp(`${number} +4 +10 +\\d+ +primes`));
    machine.say(machine.second, `stop ${number}\r`, PROMPT);
    machine.run(1);
    expect(machine.say(machine.console, "\r", PROMPT)).toContain(`process ${number} has ended`);
    expect(machine.say(machine.second, "processes\r", PROMPT)).not.toContain("primes");
  });

  it("reads the disk for both at once", () => {
    machine.console.type("text day\r");
    const from = machine.console.shown.length;
    const other = machine.say(machine.second, "text /d0/visitors/system\r", PROMPT);
    machine.run(10, () => machine.console.shown.indexOf(PROMPT, from + 10) >= 0);
    expect(other).toContain("gives its turn away at once.");
    expect(machine.console.shown.slice(from)).toContain("Last start, and the switch back to off");
  });

  it("gives all memory back, and asks for a name again", () => {
    const blocks = () => /\n(s{8}[1-8.]{20})\r/.exec(machine.say(machine.console, "memory\r", PROMPT))![1]!;
    const before = blocks();
    for (let i = 0; i < 3; i++) machine.say(machine.console, "list\r", PROMPT);
    expect(blocks()).toBe(before);
    expect(machine.say(machine.second, "end\r", LOGIN)).toContain(LOGIN);
    expect(machine.say(machine.console, "end\r", LOGIN)).toContain(LOGIN);
  });
});

describe("when something is wrong", () => {
  const start = (image: Uint8Array, blocks?: number): Larkfield9 => {
    const broken = new Larkfield9(image, roms, blocks);
    const ended = [/\? $/, /login: $/, /does not give it\r\n$/];
    broken.run(20, () => ended.some((each) => each.test(broken.console.shown)));
    return broken;
  };
  const damaged = (at: number): Uint8Array => {
    const image = disk.slice();
    image[at]! ^= 0x10;
    return image;
  };
  const boot = ((disk[0x15]! << 16) | (disk[0x16]! << 8) | disk[0x17]!) * 256;

  it("gets no farther than its first line on a drive with one head, as the fit says", () => {
    const { shown } = start(disk, 2083).console;
    expect(shown).toContain("Tern, edition 1\r\nthe disk does not give it\r\n");
    expect(shown).not.toContain(LOGIN);
  });

  it("waits in the monitor for a disk that starts nothing", () => {
    expect(start(new Uint8Array(disk.length)).console.shown).toContain("This disk starts nothing");
  });

  it("says that the drive failed where the disk ends too early", () => {
    expect(start(disk.slice(0, boot + 1024)).console.shown).toContain("The drive failed: 05");
  });

  it("refuses a first module with a wrong header, and a boot file with a module whose sums are wrong", () => {
    expect(start(damaged(boot + 6)).console.shown).toContain("What it starts is no module");
    expect(start(damaged(boot + 3000)).console.shown).toContain("Tern cannot start: a");
  });

  it("shows and changes memory in the monitor, and boots from there", () => {
    const idle = start(new Uint8Array(disk.length));
    expect(idle.say(idle.console, "look e000\r", "? ")).toContain("E000 16");
    idle.say(idle.console, "put 2000 12 ab 7F\r", "? ");
    expect(idle.say(idle.console, "look 2000\r", "? ")).toContain("2000 12 AB 7F 00");
    expect(idle.say(idle.console, "boot\r", "? ")).toContain("This disk starts nothing");
  });
});
