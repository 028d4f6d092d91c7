import { assemble } from "@rouse/core/assemble";
import { readBench } from "@rouse/core/bench";
import { loadCatalogue } from "@rouse/core/catalogue";
import { createRehearsal } from "@rouse/core/rehearse";
import { describe, expect, it } from "vitest";
import { Engine } from "./engine.ts";
import { controlKey, typedText } from "./keys.ts";
import { createMachine } from "./machine.ts";
import type { Asked, Frame, Told } from "./types.ts";

const BENCH = `rouse: 1
name: small
computer:
  cpu: { part: MC68A09E, clock: 1 MHz }
  memory:
    main: { kind: ram, at: $0000, size: 48 KiB }
    devices: { kind: io, at: $D000, size: 256 bytes }
    monitor: { kind: rom, at: $E000, size: 8 KiB, file: rom }
ports: { one: { uart: MC6850, at: $D000, clock: 153.6 kHz, ratio: 16, format: 8N1 } }
terminals: { desk: { class: screen-80-cursor, rate: "9,600 bit/s", format: 8N1 } }
cables: { lead: { kind: null modem, from: one, to: desk } }
`;

/** Sends back what it receives; counts meanwhile at $4000. */
const ECHO = `start lda #3
  sta $D000
  lda #$15
  sta $D000
  ldx #0
again leax 1,x
  stx $4000
  lda $D000
  bita #1
  beq again
  lda $D001
  sta $D001
  bra again
`;

function machineOf(source: string) {
  const { segments, errors } = assemble(`  cpu 6809\n  org $E000\n${source}\n  org $FFFE\n  fdb start\n`);
  expect(errors).toEqual([]);
  const rom = new Uint8Array(0x2000).fill(0xff);
  for (const { address, bytes } of segments) rom.set(bytes, address - 0xe000);
  const { bench } = readBench(BENCH, loadCatalogue());
  return createRehearsal(bench!, { roms: new Map([["rom", rom]]), images: new Map() });
}

/** An engine on a clock of the test's own; `tick`: ms that pass with each look at it. */
function desk(source = ECHO, tick = 0) {
  let ms = 0;
  const told: Told[] = [];
  const machine = machineOf(source);
  const engine = new Engine(machine, {
    clock: () => {
      ms += tick;
      return ms;
    },
    tell: (each) => told.push(each),
  });
  return {
    machine,
    engine,
    told,
    pass: (by: number) => {
      ms += by;
    },
    /** The page asks, and has shown what it was told. */
    ask: (asked: Exclude<Asked, { kind: "switch on" }>): number => {
      engine.obey(asked);
      const wait = engine.turn();
      engine.obey({ kind: "seen" });
      return wait;
    },
    /** All that has been told of the machine, as the page has it. */
    frame(): Frame {
      return Object.assign({}, ...told.map((each) => (each.kind === "frame" ? each.frame : {})));
    },
  };
}

describe("the machine behind the page", () => {
  it("runs at true speed for as long as passed, and catches up at most a quarter of a second", () => {
    const { machine, engine, pass } = desk();
    for (let k = 0; k < 20; k++) {
      pass(16);
      expect(engine.turn()).toBeGreaterThan(0);
    }
    expect(machine.seconds).toBeCloseTo(0.32, 3);
    pass(10_000);
    engine.turn();
    expect(machine.seconds).toBeCloseTo(0.57, 3);
  });

  it("does not lose the time of a slice that was too short, and comes back at once", () => {
    // Each look at the clock takes 8 ms: two stretches of 10 ms fill a slice.
    const { machine, engine, pass } = desk(ECHO, 8);
    pass(100);
    expect(engine.turn()).toBe(0);
    const after = machine.seconds;
    expect(after).toBeLessThan(0.05);
    for (let k = 0; k < 8; k++) engine.turn();
    expect(machine.seconds - after).toBeGreaterThan(0.08);
  });

  it("goes as fast as it can in slices, and tells its speed", () => {
    const { machine, engine, ask, told } = desk(ECHO, 1);
    ask({ kind: "pace", fast: true });
    expect(engine.turn()).toBe(0);
    for (let k = 0; k < 120; k++) ask({ kind: "seen" });
    const frames = told.flatMap((each) => (each.kind === "frame" ? [each.frame] : []));
    const last = frames.at(-1)!;
    expect(machine.seconds).toBeGreaterThan(5);
    // 10 ms of the machine between two looks at a clock that goes on by 1 ms at each.
    expect(last.speed).toBeGreaterThan(5);
    expect(last.speed).toBeLessThanOrEqual(10);
    expect(last.ran.machine).toBeGreaterThan(5);
  });

  it("tells nothing more until the page has shown what it was told, and nothing that has not changed", () => {
    const { engine, told, pass, ask } = desk();
    pass(40);
    engine.turn();
    pass(40);
    engine.turn();
    expect(told).toHaveLength(1);
    ask({ kind: "pause" });
    pass(40);
    expect(engine.turn()).toBe(Number.POSITIVE_INFINITY);
    const frames = told.flatMap((each) => (each.kind === "frame" ? [each.frame] : []));
    expect(frames).toHaveLength(2);
    expect(Object.keys(frames[0]!)).toEqual(expect.arrayContaining(["terminals", "code", "picture", "memory"]));
    expect(frames[1]).not.toHaveProperty("picture");
    expect(frames[1]!.pause).toBe("pause");
  });

  it("shows at the terminal what was typed there, through the line both ways", () => {
    const { ask, pass, engine, frame } = desk();
    ask({ kind: "type", text: "Tern", terminal: "desk" });
    for (let k = 0; k < 12; k++) {
      pass(100);
      ask({ kind: "seen" });
    }
    const [shown] = frame().terminals!;
    expect(shown!.rows[0]).toEqual([["Tern", 0]]);
    expect(shown!.rows).toHaveLength(24);
    expect(shown!.cursor).toEqual({ row: 0, column: 4 });
    expect(engine.about.terminals).toMatchObject([{ name: "desk", columns: 80, rows: 24, paper: false }]);
  });

  it("says what it cannot type, and goes on", () => {
    const { ask, told } = desk();
    ask({ kind: "type", text: "→", terminal: "desk" });
    ask({ kind: "type", text: "a", terminal: "nobody’s" });
    expect(told.flatMap((each) => (each.kind === "notice" ? [each.sentence] : []))).toEqual([
      expect.stringContaining("“→” is no character of ISO 646"),
      expect.stringContaining("nobody’s"),
    ]);
  });

  it("stops before a breakpoint, steps through the code shown, and goes on", () => {
    const { ask, pass, machine, frame } = desk();
    const again = 0xe00d;
    ask({ kind: "breakpoints", at: [again] });
    pass(40);
    ask({ kind: "go" });
    pass(40);
    ask({ kind: "seen" });
    expect(frame().pause).toBe("breakpoint");
    expect(frame().state.next).toEqual({ address: again, text: "LEAX 1,X" });
    const first = frame().code!;
    expect(first.map(({ text }) => text)).toEqual(expect.arrayContaining(["LEAX 1,X", "STX $4000", "LDA $D000"]));
    pass(40);
    ask({ kind: "step" });
    // The list stands still while the next instruction is in it.
    expect(frame().code).toEqual(first);
    expect(frame().state.next.text).toBe("STX $4000");
    expect(frame().pause).toBe("pause");
    ask({ kind: "breakpoints", at: [] });
    ask({ kind: "go" });
    pass(40);
    ask({ kind: "seen" });
    expect(frame().pause).toBeNull();
    expect(machine.seconds).toBeGreaterThan(0.01);
  });

  it("stays where the CPU stopped", () => {
    const { ask, pass, machine, frame } = desk("start fcb 1");
    pass(40);
    ask({ kind: "seen" });
    expect(frame().pause).toBe("stopped");
    const { cycles } = machine;
    ask({ kind: "go" });
    pass(40);
    ask({ kind: "step" });
    expect(frame().pause).toBe("stopped");
    expect(machine.cycles - cycles).toBeLessThanOrEqual(2);
  });

  it("keeps moments, returns to any of them, and drops them", () => {
    const { ask, pass, machine, told, frame } = desk();
    const go = (ms: number): void => {
      pass(ms);
      ask({ kind: "seen" });
    };
    go(40);
    ask({ kind: "keep" });
    const kept = machine.seconds;
    go(40);
    ask({ kind: "type", text: "x", terminal: "desk" });
    for (let k = 0; k < 4; k++) go(200);
    expect(machine.screen().lines[0]).toBe("x");
    ask({ kind: "keep" });
    go(40);
    expect(frame().moments).toHaveLength(2);
    ask({ kind: "pause" });
    ask({ kind: "back", moment: frame().moments[0]!.id });
    go(40);
    expect(machine.seconds).toBe(kept);
    expect(machine.screen().lines[0]).toBe("");
    ask({ kind: "back", moment: frame().moments[1]!.id });
    expect(machine.screen().lines[0]).toBe("x");
    ask({ kind: "drop", moment: frame().moments[0]!.id });
    go(40);
    expect(frame().moments.map(({ id }) => id)).toEqual([2]);
    for (let k = 0; k < 30; k++) ask({ kind: "keep" });
    expect(told.filter(({ kind }) => kind === "notice").length).toBe(11);
  });

  it("shows memory from an address on, and no device", () => {
    const { ask, pass, machine, frame } = desk();
    pass(40);
    ask({ kind: "look", at: 0xcffe });
    pass(40);
    ask({ kind: "pause" });
    pass(40);
    ask({ kind: "look", at: 0x3fff });
    pass(40);
    ask({ kind: "seen" });
    expect(frame().memory!.at).toBe(0x3fff);
    expect(frame().memory!.bytes.slice(0, 3)).toEqual([0x3fff, 0x4000, 0x4001].map((at) => machine.peek(at)));
    pass(40);
    ask({ kind: "look", at: 0xd000 });
    expect(frame().memory!.bytes.slice(0, 2)).toEqual([null, null]);
  });
});

describe("keys", () => {
  it("with Ctrl are the control characters of ISO 646", () => {
    expect(["c", "C", "[", "@", "_", "?"].map(controlKey)).toEqual([
      "\u0003",
      "\u0003",
      "\u001b",
      "\0",
      "\u001f",
      "\u007f",
    ]);
    expect(["Enter", "1", "é", "ArrowUp"].map(controlKey)).toEqual([undefined, undefined, undefined, undefined]);
  });

  it("and pastes end lines with one CR", () => {
    const typed = (inputType: string, data: string | null) => typedText({ inputType, data, dataTransfer: null });
    expect(typed("insertText", "a")).toBe("a");
    expect(typed("insertLineBreak", null)).toBe("\r");
    expect(typed("deleteContentBackward", null)).toBe("\b");
    expect(typed("insertFromPaste", "a\r\nb\nc\rd")).toBe("a\rb\rc\rd");
  });
});

describe("the machine as the page knows it", () => {
  it("keeps what a frame leaves out, what was chosen, and breakpoints over power off", () => {
    const asked: Asked[] = [];
    const workers: { onmessage?: (event: { data: Told }) => void; gone: boolean }[] = [];
    const machine = createMachine(() => {
      const worker = {
        gone: false,
        postMessage: (each: Asked) => asked.push(each),
        terminate() {
          worker.gone = true;
        },
      };
      workers.push(worker);
      return worker as unknown as Worker;
    });
    machine.switchOn("text");
    expect(machine.get()).toMatchObject({ power: "starting", text: "text" });
    const tell = (data: Told) => workers.at(-1)!.onmessage!({ data });
    tell({ kind: "on", about: { cpu: "6809" } as never });
    tell({ kind: "frame", frame: { pause: null, picture: { a: 1 } } as never });
    tell({ kind: "frame", frame: { pause: "pause" } as never });
    expect(machine.get().frame).toEqual({ pause: "pause", picture: { a: 1 } });
    machine.ask({ kind: "pace", fast: true });
    machine.ask({ kind: "breakpoints", at: [7] });
    expect(machine.get()).toMatchObject({ power: "on", fast: true, breakpoints: [7] });
    machine.switchOn("other");
    expect(workers.map(({ gone }) => gone)).toEqual([true, false]);
    expect(machine.get()).toMatchObject({ fast: false, breakpoints: [7], frame: null });
    tell({ kind: "on", about: {} as never });
    expect(asked.at(-1)).toEqual({ kind: "breakpoints", at: [7] });
    tell({ kind: "off", sentence: "No ROM." });
    expect(machine.get()).toMatchObject({ power: "off", problem: "No ROM.", text: "other" });
  });
});
