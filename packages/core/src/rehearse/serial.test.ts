import { describe, expect, it } from "vitest";
import { readFrame, registerWrites, settingOf } from "../line/index.ts";
import { type Small, smallBench, smallMachine } from "./small-bench.ts";

/**
 * Each serial part is set up by the register writes that the line room lists, after its data sheet, and then asked by its
 * status bits as a program of the time does: two readings of the same data sheets meet here.
 */

type Cpu = Small["cpu"];

/** Writes and polls in each CPU's own way. */
const CODE: Readonly<
  Record<
    Cpu,
    {
      put: (at: number, value: number) => string;
      echo: (p: { status: number; ready: number; got: number; data: number }) => string;
    }
  >
> = {
  "6809": {
    put: (at, value) => `  lda #${value}\n  sta ${at}\n`,
    echo: ({ status, ready, got, data }) =>
      `  lds #$4000\n${[..."OK"].map((c) => `  ldb #'${c}\n  bsr send\n`).join("")}again lda ${status}\n  anda #${got}\n  beq again\n  ldb ${data}\n  bsr send\n  bra again\nsend lda ${status}\n  anda #${ready}\n  beq send\n  stb ${data}\n  rts\n`,
  },
  "6502": {
    put: (at, value) => `  lda #${value}\n  sta ${at}\n`,
    echo: ({ status, ready, got, data }) =>
      `  ldx #$ff\n  txs\n${[..."OK"].map((c) => `  ldx #'${c}\n  jsr send\n`).join("")}again lda ${status}\n  and #${got}\n  beq again\n  ldx ${data}\n  jsr send\n  jmp again\nsend lda ${status}\n  and #${ready}\n  beq send\n  stx ${data}\n  rts\n`,
  },
  Z80: {
    put: (at, value) => `  ld a,${value}\n  out (${at}),a\n`,
    echo: ({ status, ready, got, data }) =>
      `  ld sp,$f000\n${[..."OK"].map((c) => `  ld b,'${c}'\n  call send\n`).join("")}again in a,(${status})\n  and ${got}\n  jr z,again\n  in a,(${data})\n  ld b,a\n  call send\n  jr again\nsend in a,(${status})\n  and ${ready}\n  jr z,send\n  ld a,b\n  out (${data}),a\n  ret\n`,
  },
};

interface Case {
  uart: string;
  cpu: Cpu;
  at: number;
  /** Keys of the port that make 1,200 bit/s. */
  rate: string;
  frame: string;
  /** Offsets and bits, as the data sheets have them. */
  status: number;
  ready: number;
  got: number;
}

const CASES: readonly Case[] = [
  {
    uart: "MC6850",
    cpu: "6809",
    at: 0xd000,
    rate: "clock: 1.2288 MHz, divide: 64, ratio: 16",
    frame: "7E1",
    status: 0,
    ready: 2,
    got: 1,
  },
  {
    uart: "6551",
    cpu: "6502",
    at: 0xd000,
    rate: "clock: 1.8432 MHz, code: 8",
    frame: "8N1",
    status: 1,
    ready: 0x10,
    got: 8,
  },
  {
    uart: "8251",
    cpu: "Z80",
    at: 0x10,
    rate: "clock: 1.2288 MHz, divide: 64, ratio: 16",
    frame: "8N2",
    status: 1,
    ready: 1,
    got: 2,
  },
  {
    uart: "16450",
    cpu: "6809",
    at: 0xd008,
    rate: "clock: 1.8432 MHz, divisor: 96",
    frame: "8O1",
    status: 5,
    ready: 0x20,
    got: 1,
  },
  {
    uart: "Z80-SIO",
    cpu: "Z80",
    at: 0x20,
    rate: "clock: 1.2288 MHz, divide: 64, ratio: 16",
    frame: "7O2",
    status: 1,
    ready: 4,
    got: 1,
  },
];

const DATA: Readonly<Record<string, number>> = { MC6850: 1 };

function machine(each: Case, terminal = `rate: 1200 bit/s, format: ${each.frame}`, cable = "kind: straight") {
  const small: Small = {
    cpu: each.cpu,
    rest: [
      `ports: { console: { uart: ${each.uart}, at: ${each.at}, ${each.rate}, format: ${each.frame}, connector: DB-25, role: DCE, levels: V.28, handshake: none } }`,
      `terminals: { desk: { class: screen-80-cursor, ${terminal.includes("levels") ? "" : "levels: V.28, "}connector: DB-25, role: DTE, handshake: none, ${terminal} } }`,
      `cables: { lead: { ${cable}, from: console, to: desk } }`,
    ],
  };
  const port = smallBench(small).ports[0]!;
  const setting = settingOf(port);
  if ("missing" in setting) throw new Error(setting.why);
  const set = registerWrites(port, setting, readFrame(each.frame))
    .map(({ address, value }) => CODE[each.cpu].put(address ?? each.at + 1, value))
    .join("");
  const data = each.at + (DATA[each.uart] ?? 0);
  return smallMachine(small, set + CODE[each.cpu].echo({ ...each, status: each.at + each.status, data }));
}

describe("a serial part", () => {
  it.each(CASES)("sends and receives as its data sheet says: $uart, $frame", (each) => {
    const running = machine(each);
    expect(running.assumed).toEqual([]);
    running.run({ seconds: 0.1 });
    expect(running.received()).toBe("OK");
    running.type("Echo!");
    running.run({ seconds: 1 });
    expect(running.received()).toBe("OKEcho!");
    expect(running.screen().faults).toBe(0);
  });

  it.each(CASES)("takes the time of its frame: $uart, $frame", (each) => {
    const running = machine(each);
    const { bits } = readFrame(each.frame);
    running.runUntilShown("O", 1);
    const first = running.seconds;
    running.runUntilShown("K", 1);
    // The wait for the empty register and the frame end within some instructions of each other.
    expect(running.seconds - first).toBeCloseTo(bits / 1200, 3);
  });

  const [part] = CASES as [Case];
  it("is heard as garbage by a terminal of another rate", () => {
    const running = machine(part, "rate: 2400 bit/s, format: 7E1");
    running.run({ seconds: 0.5 });
    expect(running.screen().received).toBeGreaterThan(2);
    expect(running.received()).not.toContain("OK");
    expect(running.screen().faults).toBeGreaterThan(0);
  });

  it("is heard with wrong parity by a terminal of the other parity", () => {
    const running = machine(part, "rate: 1200 bit/s, format: 7O1");
    running.run({ seconds: 0.5 });
    expect(running.received()).toBe("OK");
    expect(running.screen().faults).toBe(2);
  });

  it("still is understood at 2 % beside the rate, and not at 8 %", () => {
    const at = (rate: number) => {
      const running = machine(part, `rate: ${rate} bit/s, format: 7E1`);
      running.run({ seconds: 0.5 });
      return running.received();
    };
    expect(at(1224)).toBe("OK");
    expect(at(1176)).toBe("OK");
    expect(at(1296)).not.toBe("OK");
  });

  it("reaches nobody through a crossed cable between DTE and DCE, nor without ground", () => {
    const silent = machine(part, undefined, "kind: null modem");
    silent.run({ seconds: 0.5 });
    expect(silent.received()).toBe("");
    const ungrounded = machine(part, undefined, "kind: wired, wires: [[2, 2], [3, 3]]");
    ungrounded.run({ seconds: 0.5 });
    expect(ungrounded.received()).toBe("");
  });

  it("arrives upside down where TTL meets V.28", () => {
    const running = machine(part, "rate: 1200 bit/s, format: 7E1, levels: TTL 5 V");
    running.run({ seconds: 0.5 });
    expect(running.received()).not.toContain("OK");
  });

  it("hears itself where a plug joins its output to its input", () => {
    const running = machine(part, undefined, "kind: wired, wires: [[7, 7]], jumpersFrom: [[2, 3]]");
    running.run({ seconds: 0.5 });
    expect(running.received()).toBe("");
    // It echoes what it echoed: the line is never at rest.
    const before = running.save();
    running.run({ seconds: 0.5 });
    expect(running.save().wires).not.toEqual(before.wires);
  });
});
