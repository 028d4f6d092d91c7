import { describe, expect, it } from "vitest";
import { makePrograms, type ProgramOptions, type Report, readReport, runProgram, type TestProgram } from "../index.ts";
import { Board } from "./board.ts";
import type { Watched } from "./devices.ts";
import { smallBench } from "./small-bench.ts";

/**
 * A Z80's counter-timer and interrupts, by the program that is made for the bench. Control words, vector and RETI: UM0081, “CTC
 * Programming” and “CTC Interrupt Servicing”; the modes of the CPU: UM0080, “Interrupt Response”.
 */

type Changes = readonly (readonly [string, string])[];

const TICK = "  tick: { at: $20, bit: 0, every: 20000 }";
const COUNTER: Changes = [[TICK, "  timers: { pace: { part: Z80-CTC, at: $40, port: true } }"]];
const TICKS: Changes = [[TICK, "  tick: { at: $20, bit: 0, every: 20000, interrupts: true }"]];
const PULSES: Changes = [[TICK, "  timers: { pulses: { part: MC6821, at: $D030, every: 9000 } }"]];
const SHIFTING: Changes = [[TICK, "  timers: { pulses: { part: 6522, at: $40, port: true } }"]];
/** ROM and memory change places: $0038 is memory. */
const LOW_MEMORY: Changes = [
  ["monitor: { kind: rom, at: $0000", "monitor: { kind: rom, at: $E000"],
  ["main: { kind: ram, at: $8000", "main: { kind: ram, at: $0000"],
  ["clock: 1 MHz }", "clock: 1 MHz, start: $E000 }"],
];

const TIMER: ProgramOptions = { tests: ["timer"] };

interface Ran {
  report: Report;
  programs: readonly TestProgram[];
  /** Findings by the test's title. */
  found: { title: string; element: number; wanted?: number; got?: number; address?: number }[];
}

/** Programs are used for several faults. */
const MADE = new Map<string, readonly TestProgram[]>();

function ran(changes: Changes, instead?: (device: Watched) => Watched, options: ProgramOptions = TIMER): Ran {
  const bench = smallBench("Z80", changes);
  const key = JSON.stringify([changes, options]);
  const programs = MADE.get(key) ?? makePrograms(bench, options);
  MADE.set(key, programs);
  const reports = programs.map((program) => {
    const run = runProgram(bench, program, { seconds: 60, ...(instead ? { instead } : {}) });
    expect(run.ended).toBe(true);
    return readReport(run.text);
  });
  const titles = new Map(programs.flatMap(({ tests }) => tests.map(({ letter, title }) => [letter, title])));
  return {
    report: reports.at(-1)!,
    programs,
    found: reports
      .flatMap(({ findings }) => findings)
      .map(({ test, ...rest }) => ({ title: titles.get(test)!, ...rest })),
  };
}

const notesOf = ({ programs }: Ran) => programs.flatMap(({ notes }) => notes).join(" ");
const CHANNELS = [0, 1, 2, 3].map((channel) => `Counter-timer pace, channel ${channel}`);
const VECTORS = [0xa8, 0x52, 0xac, 0x56];

describe("a counter-timer's program", () => {
  it("tests each channel and finds nothing on a good one", () => {
    const good = ran(COUNTER);
    expect(good.found).toEqual([]);
    expect(good.report.end).toBe("good");
    expect(good.report.verdicts).toHaveLength(4);
    expect(good.programs.flatMap(({ tests }) => tests.map(({ title }) => title))).toEqual(CHANNELS);
    expect(notesOf(good)).toContain("mode 2, by a table at $0100");
  });

  it("fits an EPROM of 2 KiB, with gaps that its own sum knows", () => {
    const { programs, report } = ran(COUNTER, undefined, { tests: ["timer", "rom"], eprom: 2048 });
    expect(report.end).toBe("good");
    for (const { segments } of programs)
      for (const { address, bytes } of segments) expect(address + bytes.length).toBeLessThanOrEqual(2048);
  });

  it("tells two counter-timers apart", () => {
    const two: Changes = [
      [
        TICK,
        "  timers: { pace: { part: Z80-CTC, at: $40, port: true }, beat: { part: Z80-CTC, at: $50, port: true } }",
      ],
    ];
    expect(ran(two).found).toEqual([]);
    const { found } = ran(two, (device) => (device.at[0] === 0x50 ? { ...device, asks: () => false } : device));
    expect(found.map(({ title }) => title)).toEqual(CHANNELS.map((title) => title.replace("pace", "beat")));
  });

  it("runs from memory too, and where the counter lies among it", () => {
    const high: Changes = [
      [TICK, "  timers: { pace: { part: Z80-CTC, at: $D040 } }"],
      ["at: $8000, size: 1 KiB", "at: $8000, size: 8 KiB"],
    ];
    for (const at of [0x8000, 0x8300, 0x8321]) {
      const good = ran(high, undefined, { tests: ["timer"], place: "memory", at });
      expect([at, good.found, good.report.end]).toEqual([at, [], "good"]);
    }
  });

  it("tells which channel stands still", () => {
    for (const channel of [0, 2])
      for (const value of [0x00, 0x5a, 0xff]) {
        const stuck = ran(COUNTER, (device) => ({
          ...device,
          read: (address, clock) => (address === 0x40 + channel ? value : device.read(address, clock)),
        }));
        expect(stuck.report.end).toBe("bad");
        expect(new Set(stuck.found.map(({ title }) => title))).toEqual(new Set([CHANNELS[channel]]));
        expect(stuck.found.map(({ element, got }) => [element, got])).toEqual([
          [2, 0],
          [1, 0],
          [3, 0],
        ]);
      }
  });

  it("tells a bit of the counter that is stuck, by its place", () => {
    for (const bit of [0, 3, 6])
      for (const value of [0, 1]) {
        const { found } = ran(COUNTER, (device) => ({
          ...device,
          read: (address, clock) => (device.read(address, clock) & ~(1 << bit)) | (value << bit),
        }));
        expect(found).toEqual(CHANNELS.map((title) => ({ title, element: 2, wanted: 0xff, got: 0xff & ~(1 << bit) })));
      }
  });

  it("tells a count that is 5 % off, and not one that is 1 % off", () => {
    const paced = (rate: number) => (device: Watched) => ({
      ...device,
      read: (address: number, clock: number) => device.read(address, clock * rate),
      write: (address: number, value: number, clock: number) => device.write(address, value, clock * rate),
      asks: (clock: number) => device.asks(clock * rate),
      next: (clock: number) => device.next(clock * rate) / rate,
    });
    for (const rate of [0.99, 1.01]) expect(ran(COUNTER, paced(rate)).found).toEqual([]);
    for (const rate of [0.95, 1.05]) {
      const { found } = ran(COUNTER, paced(rate));
      expect(found.filter(({ title }) => title === CHANNELS[1]).map(({ element }) => element)).toEqual([1, 3]);
      for (const { wanted, got } of found) expect(Math.abs(got! / wanted! - 1 / rate)).toBeLessThan(0.01);
    }
  });

  it("tells a prescaler that never divides by 256, and a bit of the time constant that is not loaded", () => {
    const written = (change: (value: number, constant: boolean) => number) => (device: Watched) => {
      let follows = false;
      return {
        ...device,
        write: (address: number, value: number, clock: number) => {
          device.write(address, change(value, follows), clock);
          follows = !follows && (value & 5) === 5;
        },
      };
    };
    const prescaler = ran(
      COUNTER,
      written((value, constant) => (constant ? value : value & ~0x20)),
    );
    expect(prescaler.found).toContainEqual(expect.objectContaining({ title: CHANNELS[0], element: 1 }));
    const constant = ran(
      COUNTER,
      written((value, isConstant) => (isConstant ? value & ~0x10 : value)),
    );
    expect(constant.found.map(({ title, element }) => [title, element])).toEqual(CHANNELS.map((title) => [title, 3]));
  });

  it("tells a dead interrupt line: none of two came", () => {
    const { found, report } = ran(COUNTER, (device) => ({ ...device, asks: () => false }));
    expect(found).toEqual(CHANNELS.map((title) => ({ title, element: 4, wanted: 2, got: 0 })));
    expect(report.end).toBe("bad");
  });

  it("tells an interrupt line that is stuck: by no vector, for no channel asks", () => {
    const { found } = ran(COUNTER, (device) => ({ ...device, asks: () => true }));
    expect(found.length).toBeGreaterThan(0);
    for (const { element } of found) expect([4, 6]).toContain(element);
  });

  it("tells a wrong vector, whichever bit of it is wrong", () => {
    for (let bit = 0; bit < 8; bit++) {
      const { found } = ran(COUNTER, (device) => ({
        ...device,
        acknowledge: () => {
          const vector = device.acknowledge!();
          return vector === undefined ? undefined : vector ^ (1 << bit);
        },
      }));
      const got = (vector: number) => (VECTORS.includes(vector ^ (1 << bit)) ? vector ^ (1 << bit) : 0xff);
      expect(found).toEqual(
        CHANNELS.map((title, channel) => ({
          title,
          element: 6,
          wanted: VECTORS[channel],
          got: got(VECTORS[channel]!),
        })),
      );
    }
  });

  it("gives RETI, without which no second interrupt comes", () => {
    const { found } = ran(COUNTER, (device) => ({ ...device, returned: () => {} }));
    expect(found).toContainEqual({ title: CHANNELS[0], element: 4, wanted: 2, got: 1 });
  });

  it("leaves a channel alone that makes the rate of a port, and says so", () => {
    const rate: Changes = [
      ...COUNTER,
      [
        "second: { uart: 8251, at: $14, clock: 1.8432 MHz, divide: 12",
        "second: { uart: 8251, at: $14, clock: 1.8432 MHz, timer: { part: Z80-CTC, at: $41, prescale: 1, count: 12 }",
      ],
    ];
    const touched: number[] = [];
    const left = ran(rate, (device) => ({
      ...device,
      write: (address, value, clock) => {
        touched.push(address);
        device.write(address, value, clock);
      },
    }));
    expect(left.found).toEqual([]);
    expect(new Set(touched.filter((each) => each >= 0x40))).toEqual(new Set([0x40, 0x42, 0x43]));
    expect(notesOf(left)).toContain("Channel 1 of pace is not tested: it makes the rate of second");
  });

  it("is not fooled by what a monitor left: interrupts on, a time constant to come", () => {
    const { found } = ran(COUNTER, (device) => {
      for (const channel of [1, 3]) for (const value of [0xa7, 1]) device.write(0x40 + channel, value, 0);
      for (const channel of [0, 2]) device.write(0x40 + channel, 0x87, 0);
      return device;
    });
    expect(found).toEqual([]);
  });
});

describe("the interrupts of a Z80", () => {
  it("come in mode 1 where the program has $0038, or writes to memory there", () => {
    for (const changes of [TICKS, PULSES, SHIFTING])
      for (const where of [[], LOW_MEMORY]) {
        const good = ran([...changes, ...where]);
        expect(good.found).toEqual([]);
        expect(good.report.end).toBe("good");
        expect(notesOf(good)).toContain(
          where.length === 0 ? "at $0038, which lies in this program" : "at $0038, which is written to memory there",
        );
      }
  });

  it("are told where they do not come, come only once, or come again at once", () => {
    const silent = ran(TICKS, (device) => ({ ...device, asks: () => false }));
    expect(silent.found).toEqual([{ title: "Timers", element: 2, wanted: 2, got: 0 }]);
    const stuck = ran(TICKS, (device) => ({ ...device, asks: () => true }));
    expect(stuck.found).toEqual([{ title: "Timers", element: 2, wanted: 2, got: 3 }]);
    let asked = 0;
    const once = ran(TICKS, (device) => ({
      ...device,
      asks: (clock) => device.asks(clock) && asked < 1,
      write: (address, value, clock) => {
        if (device.asks(clock) && clock > 70_000) asked++;
        device.write(address, value, clock);
      },
    }));
    expect(once.found).toEqual([{ title: "Timers", element: 2, wanted: 2, got: 1 }]);
  });

  it("are told where the CPU takes them though they are disabled", () => {
    for (const [changes, element] of [
      [PULSES, 3],
      [COUNTER, 5],
    ] as const) {
      const bench = smallBench("Z80", changes);
      const program = makePrograms(bench, TIMER)[0]!;
      const board = new Board(bench, program, 100);
      const { cpu } = board;
      const drive = cpu.drive.bind(cpu);
      cpu.drive = (line, asserted) => {
        if (asserted) cpu.set("IFF1", 1);
        drive(line, asserted);
      };
      expect(board.run(5e6)).toBe(true);
      expect(readReport(board.said).findings[0]).toEqual({ test: "A", element, wanted: 0, got: 1 });
    }
  });

  it("and periods are known where memory makes the CPU wait", () => {
    const slow = (waits: number): Changes => [
      ["size: 8 KiB, chips: 2764", `size: 8 KiB, waits: ${waits}, chips: 2764`],
      [
        "devices: { kind: io, at: $D000, size: 256 bytes",
        `devices: { kind: io, at: $D000, size: 256 bytes, waits: ${waits}`,
      ],
    ];
    const placed: Changes = [[TICK, "  timers: { pace: { part: Z80-CTC, at: $D040 } }"]];
    for (const waits of [1, 4])
      for (const changes of [COUNTER, placed, TICKS, PULSES, SHIFTING]) {
        const { found, report } = ran([...changes, ...slow(waits)]);
        expect([waits, changes, found, report.end]).toEqual([waits, changes, [], "good"]);
      }
  });

  it("are not tested where nothing can lead them to the program, with the reason", () => {
    const memory: ProgramOptions = { tests: ["timer"], place: "memory", at: 0x8000 };
    const roomy: Changes = [["at: $8000, size: 1 KiB", "at: $8000, size: 8 KiB"]];
    const none = ran([...TICKS, ...roomy], undefined, memory);
    expect(none.found).toEqual([]);
    expect(notesOf(none)).toContain(
      "The interrupt of the tick is not tested: it gives no vector, and $0038, where mode 1 goes, is neither in this program nor in memory.",
    );
    const nmi = ran([[TICK, "  timers: { pulses: { part: 6522, at: $40, port: true, line: NMI } }"]]);
    expect(notesOf(nmi)).toContain("The interrupt of pulses is not tested: it drives NMI");
    const both = ran([[TICK, `${TICKS[0]![1]}\n  timers: { pulses: { part: 6522, at: $40, port: true } }`]]);
    expect(both.found).toEqual([]);
    expect(notesOf(both)).toContain("The interrupt of pulses is not tested: that of the tick cannot be kept away");
  });

  it("do not lead astray where the memory at $0038 is bad: its byte is told", () => {
    const changes = [...TICKS, ...LOW_MEMORY];
    const [program] = makePrograms(smallBench("Z80", changes), TIMER);
    const bench = smallBench("Z80", changes);
    const { text, ended } = runProgram(bench, program!, {
      seconds: 60,
      spoil: (space) => {
        const { memory } = space.bus;
        const word = space.seats.get("main")! + 0x39;
        space.watch = {
          ranges: [{ from: word, to: word }],
          read: () => memory[word]! & 0xfe,
          write: (_, value) => {
            memory[word] = value;
          },
        };
      },
    });
    expect(ended).toBe(true);
    expect(readReport(text).findings).toEqual([{ test: "A", element: 4, address: 0x39, wanted: 0xe9, got: 0xe8 }]);
  });
});
