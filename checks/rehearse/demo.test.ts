import { timeJob } from "@rouse/core/timing";
import { beforeAll, describe, expect, it } from "vitest";
import { demoBench, rehearse, stopsOf, surveyed } from "./demo-bench.ts";

/** The demo's benches as whole machines: what the fit predicts is what the rehearsal shows. */

const LOGIN = "login: ";
const PROMPT = "tern: ";
const LONGEST = 40;

const TWO_SIDES = ["class: zoned-77-track-one-side", "class: zoned-77-track-two-side"] as const;
const CROSSED = ["kind: straight", "kind: null modem"] as const;

describe("the mended bench", () => {
  const machine = rehearse("mended");
  let prompt = 0;
  beforeAll(() => {
    expect(machine.runUntilShown(LOGIN, LONGEST)).toBe("until");
    prompt = machine.screen().received;
  });

  it("comes to a login, on a screen of forty columns, and takes nothing for granted", () => {
    expect(machine.assumed).toEqual([]);
    const { columns, lines, faults } = machine.screen();
    expect(columns).toBe(40);
    expect(lines).toContain("login:");
    expect(lines).toContain("48 K main memory good");
    expect(faults).toBe(0);
    // What the bench states as show.banner.
    expect(prompt).toBe(454);
  });

  it("returns to a kept moment: the same again, to the byte and the cycle, and another way from there", () => {
    const moment = machine.save();
    const session = (typed: string) => {
      machine.type(typed);
      machine.run({ seconds: 8 });
      return { state: machine.state(), shown: machine.received(), screen: machine.screen() };
    };
    const first = session("visitor\r");
    expect(first.shown.slice(prompt)).toContain(PROMPT);
    machine.load(moment);
    expect(machine.received()).toHaveLength(prompt);
    const other = session("nobody\r");
    expect(other.shown.slice(prompt)).toContain("no such name");
    machine.load(moment);
    expect(session("visitor\r")).toEqual(first);
    machine.load(moment);
  });

  it("logs a visitor in, shows a text, and keeps its time by the tick", () => {
    machine.type("visitor\r");
    expect(machine.runUntilShown(PROMPT, LONGEST, prompt)).toBe("until");
    const say = (typed: string) => {
      const from = machine.screen().received;
      machine.type(`${typed}\r`);
      expect(machine.runUntilShown(PROMPT, LONGEST, from + typed.length)).toBe("until");
      return machine.received().slice(from);
    };
    expect(say("text poem")).toContain("A tern flies low along the shore");
    const told = (shown: string) => {
      const [, minutes, seconds] = /\d\d:(\d\d):(\d\d)/.exec(shown)!;
      return 60 * Number(minutes) + Number(seconds);
    };
    const before = { told: told(say("time")), at: machine.seconds };
    machine.run({ seconds: 20 });
    expect(Math.abs(told(say("time")) - before.told - (machine.seconds - before.at))).toBeLessThan(2);
    expect(machine.screen().faults).toBe(0);
  });
});

describe("two terminals on the mended bench", () => {
  const VISITORS = "visitors' terminal";

  it("computes at one while another person types at the other, each at the rate of the line", () => {
    const machine = rehearse("mended");
    expect(machine.terminals).toEqual(["stage terminal", VISITORS]);
    expect(machine.runUntilShown(LOGIN, LONGEST)).toBe("until");
    const say = (typed: string, answer: string, terminal?: string): string => {
      const from = machine.screen(terminal).received;
      machine.type(`${typed}\r`, terminal);
      expect(machine.runUntilShown(answer, LONGEST, from, terminal)).toBe("until");
      return machine.received(terminal).slice(from);
    };
    say("visitor", PROMPT);
    expect(machine.runUntilShown(LOGIN, LONGEST, 0, VISITORS)).toBe("until");
    say("keeper", "password: ", VISITORS);
    say("sandpiper", PROMPT, VISITORS);
    const number = /process (\d)/.exec(say("primes 60000 &", PROMPT))![1]!;

    const before = machine.screen().received;
    const begun = machine.seconds;
    expect(say("text history", PROMPT, VISITORS)).toContain("two terminals");
    expect(say("processes", PROMPT, VISITORS)).toMatch(new RegExp(`${number} +4 +10 +\\d+ +primes`));
    // 2,400 bit/s are 240 characters a second: the one that computes used the line for most of that time.
    const printed = machine.screen().received - before;
    const most = (machine.seconds - begun) * 240;
    expect(printed).toBeLessThan(most + 2);
    expect(printed).toBeGreaterThan(0.3 * most);
    say(`stop ${number}`, PROMPT, VISITORS);
    expect(say("", PROMPT)).toContain(`process ${number} has ended`);
    expect(machine.screen().faults + machine.screen(VISITORS).faults).toBe(0);
  });
});

describe("a disk that starts nothing", () => {
  it("leaves the person in the hex monitor, which shows and changes memory", () => {
    const machine = rehearse("mended", demoBench("mended"), {}, new Uint8Array(4166 * 256));
    expect(machine.runUntilShown("This disk starts nothing", LONGEST)).toBe("until");
    const say = (typed: string): string => {
      const from = machine.screen().received;
      machine.type(`${typed}\r`);
      expect(machine.runUntilShown("? ", LONGEST, from + typed.length)).toBe("until");
      return machine.received().slice(from);
    };
    machine.runUntilShown("? ", LONGEST);
    say("put 2000 12 ab 7F");
    expect(say("look 2000")).toContain("2000 12 AB 7F");
    expect([0x2000, 0x2001, 0x2002].map((at) => machine.peek(at))).toEqual([0x12, 0xab, 0x7f]);
  });

  it("is refused by the Z80's monitor too", () => {
    const machine = rehearse("second-machine", demoBench("second-machine"), {}, new Uint8Array(77 * 26 * 128));
    expect(machine.runUntilShown("This disk starts nothing. Any key tries again.", LONGEST)).toBe("until");
  });
});

describe("the planted faults", () => {
  const DRIVE = "drive-sides/tern";
  const CABLE = "cable-nets/terminal cable";
  it.each<{ fault: string; changes: (readonly [string, string])[]; stops: string[] }>([
    { fault: "both", changes: [], stops: [CABLE, DRIVE] },
    { fault: "the one-sided drive", changes: [CROSSED], stops: [DRIVE] },
    { fault: "the straight cable", changes: [TWO_SIDES], stops: [CABLE] },
    { fault: "neither", changes: [CROSSED, TWO_SIDES], stops: [] },
  ])("shows what the fit predicts: $fault", ({ changes, stops }) => {
    const bench = demoBench("first-try", changes);
    expect(stopsOf("first-try", bench)).toEqual(stops);
    const machine = rehearse("first-try", bench);
    const ending = machine.runUntilShown(LOGIN, LONGEST);
    const shown = machine.received();
    const [drive] = machine.state().drives;
    const crossed = !stops.includes(CABLE);
    const twoSided = !stops.includes(DRIVE);
    expect(ending === "until").toBe(crossed && twoSided);
    // A straight cable between two DTE: nothing reaches the terminal at all, while the machine works on.
    if (!crossed) expect(shown).toBe("");
    else if (!twoSided) expect(shown).toMatch(/Tern, edition 1\r\nthe disk does not give it\r\n$/);
    // Programs lie on side 1: only a drive with two heads gets there.
    expect(drive!.reads).toBeGreaterThan(20);
    expect(drive!.side).toBe(twoSided ? 1 : 0);
  });

  it("shows garbage where the terminal is set to another rate, as the fit says", () => {
    const bench = demoBench("mended", [["rate: 2,400 bit/s", "rate: 1,200 bit/s"]]);
    expect(stopsOf("mended", bench)).toEqual(["port-rate/console"]);
    const machine = rehearse("mended", bench);
    expect(machine.runUntilShown("monitor", 6)).toBe("time");
    expect(machine.screen().received).toBeGreaterThan(20);
    expect(machine.screen().faults).toBeGreaterThan(10);
  });
});

describe("the time to the login", () => {
  const TYPED = "visitor\r";

  it("counts what is done before the first sector, what the script shows, and one person's program", () => {
    const bench = demoBench("mended");
    const { parts } = timeJob({ bench, image: surveyed("mended", bench) }, { what: "login" });
    expect(parts[0]).toEqual({ name: "from reset to the first sector", start: 0, length: 3.85 });
    const names = parts.map(({ name }) => name);
    expect(names).toContain("given by name: sys/welcome");
    expect(names).toContain("folder visitors");
    expect(names.filter((each) => each.startsWith("login program"))).toEqual(["login program commands/shell"]);
  });

  const TYPING = 10;

  // Tern prints while it reads, the model prints behind it: on a much slower line the two part by more.
  it.each([
    ["as it is", []],
    ["a bus of half the rate", [["rate: 4,000 byte/s", "rate: 2,000 byte/s"]]],
    ["a slow arm", [["zoned-77-track-two-side, bus", "zoned-77-track-two-side, step: 40 ms, bus"]]],
  ] as const)("is that of the timing model within 5 %% (%s)", (_, changes) => {
    const bench = demoBench("mended", changes);
    const predicted = timeJob({ bench, image: surveyed("mended", bench) }, { what: "login" });
    expect(predicted.known).toBe(true);
    // Where the disk stands at power-on is not known: a mean over two places.
    const phases = [0.25, 0.75];
    const times = phases.map((phase) => {
      const machine = rehearse("mended", bench, { phase, typing: TYPING });
      expect(machine.runUntilShown(LOGIN, 2 * LONGEST)).toBe("until");
      machine.type(TYPED);
      expect(machine.runUntilShown(PROMPT, LONGEST, machine.screen().received)).toBe("until");
      return machine.seconds - TYPED.length / TYPING;
    });
    const mean = times.reduce((sum, each) => sum + each, 0) / times.length;
    expect(Math.abs(mean / predicted.seconds - 1)).toBeLessThan(0.05);
  });
});

describe("the second machine", () => {
  it("comes to its prompt by its start-up list, and runs a program", () => {
    const machine = rehearse("second-machine");
    expect(machine.assumed).toEqual([]);
    expect(machine.runUntilShown("FILES\r\n", LONGEST)).toBe("until");
    expect(machine.runUntilShown("next: ", LONGEST, machine.screen().received)).toBe("until");
    expect(machine.screen().lines.join("\n")).toContain("SHOW    .COM");
    const from = machine.screen().received;
    machine.type("show care.txt\r");
    expect(machine.runUntilShown("A disk that squeaks in the drive comes out at once.", LONGEST, from)).toBe("until");
    expect(machine.screen().faults).toBe(0);
  });
});
