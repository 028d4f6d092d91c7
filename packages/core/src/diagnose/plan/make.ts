import type { CpuName } from "../../assemble/index.ts";
import type { Bench } from "../../bench/index.ts";
import { InputError } from "../../errors/index.ts";
import { type MemoryMap, memoryMapOf } from "../../memory/index.ts";
import { BACKGROUNDS, MARCHES, marchOf, RETENTION } from "../march/march.ts";
import type { March, Place, Space, TestKind } from "../types.ts";
import { echoSteps, PATTERN, PLUG_SECONDS, signsOf } from "./devices.ts";
import { addressSteps, latchSteps, translationSteps, viewSteps } from "./marks.ts";
import { cpuNameOf, type Ground, groundOf } from "./place.ts";
import { waitsAt } from "./response.ts";
import {
  keptBy,
  mainSpace,
  type TranslationSpace,
  translationSpace,
  type WindowSpace,
  windowSpaces,
} from "./spaces.ts";
import { timerTests } from "./timers.ts";
import type { Plan, PlannedTest, Poke, Step, Unlettered } from "./types.ts";
import { chooseSpeaker, speakerOf } from "./voice.ts";

/** Memory that marches, address and retention tests go over. */
export const OVERS = ["main", "banks", "translation"] as const;
export type Over = (typeof OVERS)[number];

/** Tests that are no march, by name. */
export const OTHER_TESTS = [
  "address",
  "retention",
  "banks",
  "latches",
  "translation",
  "rom",
  "timer",
  "port",
  "loop",
] as const;
type OtherTest = (typeof OTHER_TESTS)[number];

export interface ProgramOptions {
  /** Names of marches and other tests, in the order in which they run; what suits most benches where nothing is said. */
  tests?: readonly string[];
  /** Where marches and retention go; everywhere where nothing is said. */
  over?: readonly Over[];
  place?: Place;
  /** First address, for a program in memory. */
  at?: number;
  /** Name of the port to speak through. */
  port?: string;
  /** ROM images by the file that the bench names, for their sums. */
  roms?: ReadonlyMap<string, Uint8Array>;
  /** Seconds that memory has to hold what was written; 2 where nothing is said. */
  seconds?: number;
  /** Bytes of the EPROM, where it is smaller than the ROM's place. */
  eprom?: number;
}

const USUAL_TESTS: readonly string[] = [
  "march-c-",
  "address",
  "banks",
  "latches",
  "translation",
  "retention",
  "rom",
  "timer",
  "port",
];
const RETENTION_SECONDS = 2;
/** 6502: where the program keeps its bytes of the zero page, and where the second time, so that the first ones are tested too. */
const WORKS = [0x00, 0x80] as const;

/** What all tests of a program are made from. */
interface Frame {
  bench: Bench;
  map: MemoryMap;
  cpu: CpuName;
  hertz: number;
  ground: Ground;
  options: ProgramOptions;
  notes: string[];
  /** Bytes of the code. */
  length: number;
  main: Space | undefined;
  windows: readonly WindowSpace[];
  translation: TranslationSpace | undefined;
}

/** Which of all tests go into one program: from this one on, so many. Letters are those of the whole. */
export interface Share {
  first: number;
  count: number;
}

/**
 * Everything about a program but its text. `length` is that of the code, where it lies in memory that it would test. `all` is the
 * number of tests that there are.
 */
export function planOf(bench: Bench, options: ProgramOptions, length: number, share: Share): Plan & { all: number } {
  const map = memoryMapOf(bench);
  if (!map) throw new InputError("no-memory", "A test program needs the computer's memory: computer.memory.");
  const clock = bench.computer?.cpu?.clock;
  if (!clock) throw new InputError("no-clock", "A test program needs the CPU's clock: computer.cpu.clock.");
  const cpu = cpuNameOf(bench);
  const ground = groundOf(bench, map, cpu, options);
  const notes: string[] = [];
  const [work] = cpu === "6502" ? WORKS : [];
  const kept = keptBy(ground, length, work);
  const frame: Frame = {
    bench,
    map,
    cpu,
    hertz: clock.value,
    ground,
    options,
    notes,
    length,
    main: mainSpace(map, kept),
    windows: windowSpaces(map, notes),
    translation: translationSpace(map, ground, cpu, kept, notes),
  };
  const speaker = chooseSpeaker(bench, options.port);
  const tests: Omit<PlannedTest, "letter">[] = [];
  const names = options.tests ?? USUAL_TESTS;
  const first = cpu === "6502" ? [zeroPage(frame)] : [];
  for (const name of names)
    tests.push(...testsOf(frame, name).map((each) => (work === undefined ? each : { work, ...each })));
  if (tests.length === 0)
    throw new InputError(
      "no-tests",
      `None of these tests fits this bench: ${names.join(", ")}. ${notes.join(" ")}`.trim(),
    );
  if (first.length + tests.length > LETTERS.length)
    throw new InputError("many-tests", "That is more than 26 tests: leave some out.");
  const lettered = [...first, ...tests].map((each, index) => ({ ...each, letter: LETTERS[index]! }));
  const begins = first.length + share.first;
  const chosen = [...lettered.slice(0, first.length), ...lettered.slice(begins, begins + share.count)];
  if (chosen.some(({ kind }) => kind === "retention")) noteRefresh(frame);
  return {
    cpu,
    hertz: clock.value,
    all: tests.length,
    title: bench.computer!.name,
    place: ground.place,
    code: ground.code,
    waits: waitsAt(map, ground.code.from, false),
    voice: speaker.voice,
    prelude: [...latchesOff(frame), ...speaker.setup, ...signsOf(bench).off],
    signs: signsOf(bench),
    tests: chosen,
    notes: [...new Set([...ground.notes, ...notes])],
    interrupts: chosen.some((each) => each.steps.some((step) => step.kind === "interrupt")),
    ...(ground.vectors === undefined ? {} : { vectors: ground.vectors }),
  };
}

const LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ";

/** Latches and translation as at power-on, so that a program that is started later finds the memory as it expects it. */
function latchesOff({ map, translation }: Frame): Poke[] {
  const pokes: Poke[] = [];
  if (translation?.latch)
    pokes.push({ at: translation.latch.at, port: false, value: translation.latch.off, meaning: "no translation" });
  for (const { at, port, name } of map.latches)
    if (at !== undefined && !pokes.some((each) => each.at === at && each.port === port))
      pokes.push({ at, port, value: map.powerOn.latches[name] ?? 0, meaning: `${name} as at power-on` });
  return pokes;
}

/** What of main memory lies in the zero page: all that a second turn is for where cells are not tested with each other. */
function zeroPageOf(space: Space): Space {
  const stretches = space.stretches
    .filter(({ from }) => from <= 0xff)
    .map(({ from, to }) => ({ from, to: Math.min(0xff, to) }));
  return { ...space, stretches, bytes: stretches.reduce((sum, { from, to }) => sum + to - from + 1, 0) };
}

/** Spaces that `over` names, each with what comes before and behind its tests. `pairs`: whether cells are tested with each other. */
function spacesOf({ options, main, windows, translation, cpu, map, ground, length }: Frame, pairs: boolean) {
  const over = options.over ?? OVERS;
  const found: { space: Space; select?: WindowSpace["select"]; before: Step[]; behind: Step[]; work?: number }[] = [];
  if (over.includes("main") && main)
    if (cpu !== "6502") found.push({ space: main, before: [], behind: [] });
    else
      for (const work of WORKS) {
        const space = mainSpace(map, keptBy(ground, length, work));
        const piece = space && work !== WORKS[0] && !pairs ? zeroPageOf(space) : space;
        if (piece) found.push({ space: piece, before: [], behind: [], work });
      }
  if (over.includes("banks"))
    for (const { space, select } of windows) found.push({ space, select, before: [], behind: [] });
  if (over.includes("translation") && translation)
    found.push({ space: translation.space, select: translation.select, ...switched(translation) });
  return found;
}

/** Translation on, every logical block showing the physical block of its own number; and off again. */
function switched({ at, latch, block }: TranslationSpace): { before: Step[]; behind: Step[] } {
  const logical = 0x1_0000 / block;
  const map: Poke[] = Array.from({ length: logical }, (_, index) => ({
    at: at + index,
    port: false,
    value: index,
    meaning: index === 0 ? "every block behind itself" : "",
  }));
  if (!latch) return { before: [{ kind: "pokes", pokes: map }], behind: [{ kind: "pokes", pokes: map }] };
  return {
    before: [
      {
        kind: "pokes",
        pokes: [
          { at: latch.at, port: false, value: latch.off, meaning: "map 0 is written" },
          ...map,
          { at: latch.at, port: false, value: latch.on(0, 0), meaning: "translation on" },
        ],
      },
    ],
    behind: [{ kind: "pokes", pokes: [{ at: latch.at, port: false, value: latch.off, meaning: "translation off" }] }],
  };
}

const placeText = (space: Space): string =>
  space.kind === "main" ? "main memory" : space.kind === "window" ? `the banks of ${space.name}` : "translated blocks";

function marchTests(frame: Frame, march: March, kind: TestKind, backgrounds: readonly number[]): Unlettered[] {
  return spacesOf(frame, kind === "march").map(({ space, select, before, behind, work }) => ({
    kind,
    title: `${march.title} over ${placeText(space)}${work === WORKS[1] ? " again, with other bytes left out" : ""}`,
    ...(work === undefined ? {} : { work }),
    march,
    space,
    backgrounds,
    steps: [
      ...before,
      {
        kind: "march",
        space,
        march,
        backgrounds,
        seconds: frame.options.seconds ?? RETENTION_SECONDS,
        ...(select ? { select } : {}),
      },
      ...behind,
    ],
  }));
}

/** Sums of the ROMs that are seen beside the program, and of the program itself where it is one. */
function romTests({ bench, map, ground, options }: Frame): Unlettered[] {
  const steps: Step[] = [];
  const own = ground.place === "eprom" ? map.part(partOf(map, ground.code.from) ?? "") : undefined;
  for (const region of bench.computer!.regions) {
    if (region.kind !== "rom" || region.only === "write" || own?.regions.includes(region.name)) continue;
    const seen = map.view(map.powerOn).filter(({ read }) => read?.region === region.name && !read.mirror);
    for (const { from, to } of seen) {
      const image = region.file === undefined ? undefined : options.roms?.get(region.file);
      const wanted = image
        ?.subarray(from - region.from, to + 1 - region.from)
        .reduce((sum, byte) => (sum + byte) & 0xffff, 0);
      steps.push({
        kind: "sum",
        element: steps.length + 1,
        from,
        to,
        title: region.name,
        ...(wanted === undefined || image!.length < to + 1 - region.from ? {} : { wanted }),
      });
    }
  }
  if (own) steps.push({ kind: "sum", element: steps.length + 1, from: ground.code.from, title: "this program" });
  return steps.length === 0 ? [] : [{ kind: "rom", title: "Sums of the ROMs", steps }];
}

const partOf = (map: MemoryMap, address: number): string | undefined => map.whoAnswers(map.powerOn, address).read?.part;

/** Ports with a loop plug: those that the program does not speak through, or where there is no other, that one. */
function loopTests({ bench, options, notes }: Frame): Unlettered[] {
  const speaker = chooseSpeaker(bench, options.port);
  const others = bench.ports.filter((each) => each.name !== speaker.port.name).map((each) => speakerOf(bench, each));
  const looped = others.filter((each) => typeof each !== "string");
  const own = looped.length === 0;
  if (own)
    notes.push(
      `There is no second port: within ${PLUG_SECONDS} s after “loop plug” is shown, put a plug with 2 and 3 joined in the terminal's place, and ${PLUG_SECONDS} s later the terminal back. The last line is said again and again.`,
    );
  return (own ? [speaker] : looped).flatMap((each): Unlettered[] => {
    const steps = echoSteps(bench, each, own);
    return steps.length === 0
      ? []
      : [
          {
            kind: "port",
            title: `Loop plug on ${each.port.name}`,
            steps: [...(own ? [] : [{ kind: "pokes" as const, pokes: each.setup }]), ...steps],
          },
        ];
  });
}

/** What keeps dynamic memory while the retention test waits. */
function noteRefresh({ map, bench, cpu, notes }: Frame): void {
  const dynamic = bench.computer!.regions.some((each) => each.chip?.memory?.type === "dynamic");
  if (!dynamic || map.parts.length === 0) return;
  notes.push(
    cpu === "Z80"
      ? "While retention waits, the Z80 goes on refreshing rows as it fetches; no program can stop that. What is tested is cells and refresh together."
      : "While retention waits, the program touches no memory, so that only the machine's own refresh keeps it: cells and refresh are tested together. To test the cells alone, stop the refresh on the board if it has a link for that, and wait less than the data sheet's time.",
  );
}

/** 6502: the page that everything else rests on, by registers alone. */
function zeroPage({ map, length, ground }: Frame): Unlettered {
  const all = mainSpace(map, keptBy(ground, length, undefined));
  const [from, to] = [0, 0xff];
  if (!all?.stretches.some((each) => each.from <= from && to <= each.to))
    throw new InputError(
      "no-zero-page",
      "A program for the 6502 needs memory at $0000 to $00FF, and does not lie there.",
    );
  const space: Space = { name: "zero page", kind: "main", stretches: [{ from, to }], bytes: 0x100, left: [] };
  const march = marchOf("march-c-");
  return {
    kind: "march",
    title: `${march.title} over the zero page, by registers alone`,
    march,
    space,
    backgrounds: BACKGROUNDS,
    steps: [{ kind: "march", space, march, backgrounds: BACKGROUNDS, seconds: 0 }],
  };
}

function testsOf(frame: Frame, name: string): Unlettered[] {
  if (MARCHES.some((each) => each.id === name)) return marchTests(frame, marchOf(name), "march", BACKGROUNDS);
  if (!(OTHER_TESTS as readonly string[]).includes(name))
    throw new InputError(
      "no-test",
      `There is no test “${name}”; there is ${[...MARCHES.map((each) => each.id), ...OTHER_TESTS].join(", ")}.`,
    );
  const seconds = frame.options.seconds ?? RETENTION_SECONDS;
  const { main, windows, translation } = frame;
  switch (name as OtherTest) {
    case "address": {
      const steps = main ? addressSteps(main.stretches) : [];
      return steps.length === 0 ? [] : [{ kind: "address", title: "Address lines of main memory", steps }];
    }
    case "retention":
      return marchTests(frame, RETENTION, "retention", BACKGROUNDS.slice(0, 1));
    case "banks":
      return windows.map((each) => ({
        kind: "views",
        title: `Every bank of ${each.space.name} there once`,
        steps: viewSteps(each, main?.stretches ?? []),
      }));
    case "latches":
      return windows.map((each) => ({
        kind: "latches",
        title: `The latch of ${each.space.name}`,
        steps: latchSteps(each, frame.map.latches.find(({ name: latch }) => latch === each.space.name)!, seconds),
      }));
    case "translation": {
      if (!translation) return [];
      const { before, behind } = switched(translation);
      const { blocks, maps } = translationSteps(translation);
      return [
        { kind: "views", title: "Every physical block there once", steps: [...before, ...blocks, ...behind] },
        { kind: "latches", title: "The maps of the translation", steps: [...before, ...maps, ...behind] },
      ];
    }
    case "rom":
      return romTests(frame);
    case "timer":
      return timerTests(frame);
    case "port":
      return [{ kind: "port", title: "Every character of the port", steps: [{ kind: "pattern", lines: PATTERN }] }];
    case "loop":
      return loopTests(frame);
  }
}
