import { readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { readBench } from "../bench/index.ts";
import { asciiBytes } from "../bytes/index.ts";
import { loadCatalogue } from "../catalogue/index.ts";
import { InputError } from "../errors/index.ts";
import { idealAbility } from "../terminal/index.ts";
import {
  type Capture,
  captionCues,
  chapterCues,
  followScript,
  framesOf,
  offsetFrom,
  PlainText,
  pacedTimes,
  planShow,
  printClock,
  printStretch,
  readClock,
  readStretch,
  type Scene,
  type Script,
  screenAt,
  sessionText,
} from "./index.ts";
import { wordsIn } from "./plan.ts";
import { readScript } from "./script/index.ts";

const demo = (name: string) => readFileSync(new URL(`../../../../demo/${name}/bench.yaml`, import.meta.url), "utf8");
const mended = demo("mended");
const bench = readBench(mended, loadCatalogue()).bench!;
const script = (scenes: readonly Scene[], rest: Partial<Script> = {}): Script => ({
  title: "t",
  spare: 0,
  words: 120,
  typing: 2,
  credits: [],
  scenes,
  ...rest,
});
const captureOf = (entries: Capture["entries"]): Capture => ({
  head: { started: "2026-06-06T13:00:00.000Z", port: "line", rate: 2400, frame: "7E1" },
  bad: [],
  entries,
});

describe("times", () => {
  it("of day and stretches are read back as printed", () => {
    fc.assert(
      fc.property(fc.nat(86_399), (seconds) => {
        expect(readClock(printClock(seconds).clock)).toBe(seconds);
        expect(readStretch(printStretch(seconds))).toBe(seconds);
      }),
      { seed: 6, numRuns: 300 },
    );
    expect(printClock(-60)).toEqual({ clock: "23:59:00", daysBefore: 1 });
    expect(readStretch("1:23.5")).toBe(83.5);
    expect(readStretch("2 min")).toBe(120);
    for (const wrong of ["25:00", "1:60", "noon", ""]) expect(() => readClock(wrong), wrong).toThrow(InputError);
    for (const wrong of ["-3 s", "soon", "3"]) expect(() => readStretch(wrong), wrong).toThrow(InputError);
  });
});

describe("a script", () => {
  it("is read with its times, waits and defaults", () => {
    const read = readScript(
      'show: 1\ntitle: Tern wakes\nends: "15:30"\nspare: 2 min\nscenes:\n  - { name: on, do: switch on, takes: 10 s, wait: boot, say: one two }\n  - { name: go, type: list, expect: "READY", wait: load commands/list, prints: 300 }\n  - { name: rest, wait: 5 s }\n',
    );
    expect(read).toMatchObject({ ends: 55_800, spare: 120, words: 130, typing: 3 });
    expect(read.scenes.map((each) => each.wait)).toEqual([
      { job: "boot" },
      { job: "load", name: "commands/list" },
      { seconds: 5 },
    ]);
  });

  it.each([
    ["show: 1\ntitle: t\nscenes:\n  - { name: a, wait: whenever }\n", "line 4: scenes.0.wait: “whenever”"],
    ["show: 1\ntitle: t\nscenes: []\n", "line 3: scenes"],
    ["show: 1\ntitle: t\nscenes:\n  - { name: a, wiat: boot }\n", "line 4: scenes.0"],
    ["show: 1\ntitle: [\n", "this is not YAML"],
    ["", "show.yaml, line 1"],
  ])("is met with line and key where it is wrong (%#)", (text, message) => {
    expect(() => readScript(text)).toThrow(message);
  });

  it("of any text at all is read or refused in a sentence", () => {
    const line = fc.constantFrom(
      "show: 1\n",
      "title: x\n",
      "scenes:\n",
      "  - name: a\n",
      "    wait: boot\n",
      "    - &a [*a]\n",
      "\t",
      "ends: 15:30\n",
    );
    fc.assert(
      fc.property(fc.array(fc.oneof(line, fc.string()), { maxLength: 8 }), (parts) => {
        try {
          expect(readScript(parts.join("")).scenes.length).toBeGreaterThan(0);
        } catch (error) {
          expect(error).toBeInstanceOf(InputError);
        }
      }),
      { seed: 6, numRuns: 300 },
    );
  });
});

describe("the plan of a show", () => {
  it("lets words run beside the wait, and tells how much talk is missing", () => {
    const say = "one two three four five six seven eight nine ten"; // 10 words at 120 a minute: 5 s
    const { scenes, length } = planShow(
      script([
        { name: "a", takes: 4, type: "abc", wait: { seconds: 12 }, say }, // 4 + 4 ÷ 2 + 12
        { name: "b", wait: { seconds: 1 }, say },
      ]),
      bench,
      undefined,
    );
    expect(scenes[0]).toMatchObject({ start: 0, hands: 6, speech: 5, silence: 7, length: { usual: 18 } });
    expect(scenes[1]).toMatchObject({ start: 18, silence: 0, length: { usual: 5 } });
    expect(length.usual).toBe(23);
  });

  it("says the latest moment to start, over midnight too", () => {
    const scenes = [{ name: "a", wait: { seconds: 600 } }];
    const at = (ends: string) =>
      planShow(script(scenes, { ends: readClock(ends), spare: 300 }), bench, undefined).latest;
    expect(at("15:30")).toEqual({ clock: "15:15:00", daysBefore: 0 });
    expect(at("00:05")).toEqual({ clock: "23:50:00", daysBefore: 1 });
  });

  it("prints at the rate of the line: 2,400 bit/s and 10 bits a character", () => {
    const { scenes } = planShow(script([{ name: "a", prints: 480 }]), bench, undefined);
    expect(scenes[0]!.wait.usual).toBeCloseTo(2, 6);
  });

  it("does not take a wait that cannot be predicted for none", () => {
    const planned = planShow(script([{ name: "a", wait: { job: "boot" } }]), bench, undefined);
    expect(planned.known).toBe(false);
    expect(planned.missing).toEqual(["show.image"]);
  });

  it("adds up, for any scenes, and starts no later than the end allows", () => {
    const scene = fc.record({
      name: fc.constant("s"),
      takes: fc.nat(100),
      wait: fc.record({ seconds: fc.nat(200) }),
      say: fc.array(fc.constantFrom("word", "—", "two"), { minLength: 1, maxLength: 30 }).map((each) => each.join(" ")),
    });
    fc.assert(
      fc.property(fc.array(scene, { minLength: 1, maxLength: 8 }), fc.nat(86_399), (scenes, ends) => {
        const planned = planShow(script(scenes, { ends }), bench, undefined);
        const sum = scenes.reduce(
          (all, each) => all + each.takes + Math.max(each.wait.seconds, wordsIn(each.say) / 2),
          0,
        );
        expect(planned.length.usual).toBeCloseTo(sum, 6);
        const start = readClock(planned.latest!.clock) - planned.latest!.daysBefore * 86_400;
        expect(start + sum).toBeLessThanOrEqual(ends + 1e-6);
        expect(start + sum).toBeGreaterThan(ends - 1 - 1e-6);
      }),
      { seed: 6, numRuns: 200 },
    );
  });
});

const SESSION = captureOf([
  { t: 1, in: asciiBytes("Tern, edition 1\r\n") },
  { t: 41, in: asciiBytes("login: ") },
  { t: 45, out: asciiBytes("guest\r") },
  { t: 45.2, in: asciiBytes("guest\r\n") },
  { t: 47, in: asciiBytes("tern: ") },
  { t: 50, out: asciiBytes("memory\r") },
  { t: 53, in: asciiBytes("48 K\r\ntern: ") },
]);

describe("a session that is followed", () => {
  const scenes = [
    { name: "Boot", expect: "login:" },
    { name: "Log in", type: "guest", expect: "tern:" },
    { name: "Memory", type: "memory", expect: "tern:" },
    { name: "Never", type: "stop", expect: "halted" },
  ];
  it("gives each scene its beginning and its wait, and says what never came", () => {
    const followed = followScript(script(scenes), SESSION);
    expect(followed.map(({ from, seen, wait }) => [from, seen, wait])).toEqual([
      [0, 41, 41],
      [41, 47, 2],
      [47, 53, 3],
      [53, undefined, undefined],
    ]);
    expect(chapterCues(SESSION, followed).map((each) => [each.text, each.start, each.end])).toEqual([
      ["Boot", 0, 41],
      ["Log in", 41, 47],
      ["Memory", 47, 53],
      ["Never", 53, 54],
    ]);
  });

  it("takes chapters from what was typed where there is no script", () => {
    expect(chapterCues(SESSION).map((each) => [each.text, each.start])).toEqual([
      ["guest", 45],
      ["memory", 50],
    ]);
  });

  it("is aligned by a byte, by text or by a clap", () => {
    expect(offsetFrom(SESSION, { byte: 0 }, 11)).toBe(10);
    expect(offsetFrom(SESSION, { appears: "login" }, 11)).toBe(-30);
    expect(offsetFrom(captureOf([...SESSION.entries, { t: 60, note: "Clap!" }]), "clap", 61.5)).toBe(1.5);
    expect(() => offsetFrom(SESSION, "clap", 1)).toThrow("clap");
    expect(() => offsetFrom(SESSION, { byte: 1e6 }, 1)).toThrow("no byte");
    expect(() => offsetFrom(SESSION, { appears: "logout" }, 1)).toThrow("does not appear");
    expect(() => offsetFrom(SESSION, { appears: "" }, 1)).toThrow(InputError);
  });
});

describe("a replay", () => {
  it("keeps true times at speed 1, and never waits longer than it may", () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: 0, max: 100, noNaN: true }), { minLength: 1 }),
        fc.double({ min: 0.1, max: 64, noNaN: true }),
        fc.double({ min: 0, max: 10, noNaN: true }),
        (gaps, speed, longestWait) => {
          let now = 0;
          const times = gaps.map((gap) => {
            now += gap;
            return now;
          });
          for (const [index, time] of pacedTimes(times, {}).entries()) expect(time).toBeCloseTo(times[index]!, 6);
          const paced = pacedTimes(times, { speed, longestWait });
          for (const [index, time] of paced.entries()) {
            const gap = time - (paced[index - 1] ?? 0);
            expect(gap).toBeGreaterThanOrEqual(0);
            expect(gap).toBeCloseTo(Math.min(gaps[index]!, longestWait) / speed, 6);
          }
        },
      ),
      { seed: 6, numRuns: 200 },
    );
  });

  it("bears a clock that went back", () => {
    expect(pacedTimes([5, 3, 6], {})).toEqual([5, 5, 6]);
  });

  it("of frames ends at the screen that the bytes make, however they were cut", () => {
    const ability = idealAbility(12, 4);
    fc.assert(
      fc.property(
        fc.array(
          fc.tuple(
            fc.double({ min: 0, max: 1, noNaN: true }),
            fc.oneof(
              fc.uint8Array({ maxLength: 9 }),
              fc.constantFrom("\u001b[2J", "\u001b[7m", "a\r\n", "\u001b[1;1H").map(asciiBytes),
            ),
          ),
        ),
        (pieces) => {
          let t = 0;
          const capture = captureOf(
            pieces.map(([gap, bytes]) => {
              t += gap;
              return { t, in: Uint8Array.from(bytes) };
            }),
          );
          const rows: string[] = Array.from({ length: 4 }, () => "");
          for (const { up, rows: changed } of framesOf(capture, ability)) {
            rows.splice(0, up);
            rows.push(...Array.from({ length: up }, () => ""));
            for (const [index, runs] of changed) rows[index] = runs.map(([text]) => text).join("");
          }
          const lines = screenAt(capture, ability, t).lines();
          expect(rows.map((each) => each.trimEnd())).toEqual(lines);
          expect(sessionText(capture, ability).trimEnd().endsWith(lines.join("\n").trimEnd())).toBe(true);
        },
      ),
      { seed: 6, numRuns: 200 },
    );
  });

  it("of a scrolled line holds that line, not the whole screen", () => {
    const capture = captureOf(Array.from({ length: 50 }, (_, t) => ({ t, in: asciiBytes(`\r\nline ${t}`) })));
    const frames = framesOf(capture, idealAbility(20, 10)).slice(-20);
    expect(frames.map((each) => [each.up, each.rows.length])).toEqual(frames.map(() => [1, 1]));
  });

  it("as text holds what scrolled away", () => {
    const lines = Array.from({ length: 40 }, (_, index) => `line ${index}`);
    const capture = captureOf([{ t: 0, in: asciiBytes(`${lines.join("\r\n")}\r\n`) }]);
    expect(sessionText(capture, idealAbility(20, 5))).toBe(`${lines.join("\n")}\n`);
  });

  it("as plain text never lets a control function through, in pieces of any length", () => {
    fc.assert(
      fc.property(
        fc.uint8Array({ maxLength: 200 }),
        fc.nat(200),
        fc.constantFrom("7E1", "8N1"),
        (bytes, cut, frame) => {
          const whole = new PlainText(frame).take(bytes);
          expect(whole).not.toMatch(/[\u0000-\u0007\u000b-\u001f\u007f-\u009f]/);
          const plain = new PlainText(frame);
          expect(plain.take(bytes.subarray(0, cut)) + plain.take(bytes.subarray(cut))).toBe(whole);
        },
      ),
      { seed: 6, numRuns: 300 },
    );
  });

  it("has every printed line in its captions, in order", () => {
    expect(captionCues(SESSION).flatMap((each) => each.text.split("\n"))).toEqual([
      "Tern, edition 1",
      "login: guest",
      "tern: 48 K",
      "tern:",
    ]);
  });
});
