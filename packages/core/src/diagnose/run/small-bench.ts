import { type Bench, readBench } from "../../bench/index.ts";
import { loadCatalogue } from "../../catalogue/index.ts";

/** Benches of a few kilobytes for the tests, so that a whole program runs in a moment. */

const catalogue = loadCatalogue();

interface SmallCpu {
  part: string;
  /** Lines of the memory. */
  memory: readonly string[];
  port: string;
  more?: readonly string[];
}

const WINDOW =
  "    window: { kind: window, at: $4000, size: 256 bytes, banks: 4, latch: { at: $D000, bits: 2, readable: true, powerOn: 0 } }";

const CPUS: Readonly<Record<"6809" | "6502" | "Z80", SmallCpu>> = {
  "6809": {
    part: "MC6809E",
    memory: [
      "    main: { kind: ram, at: $0000, size: 1 KiB }",
      WINDOW,
      "    devices: { kind: io, at: $D000, size: 256 bytes }",
      "    extra: { kind: rom, at: $C000, size: 256 bytes, file: extra.rom }",
      "    monitor: { kind: rom, at: $E000, size: 8 KiB, chips: 2764 }",
    ],
    port: "uart: MC6850, at: $D010, clock: 1.8432 MHz, divide: 12, ratio: 16, format: 8N1",
    more: [
      "  translation:",
      "    { block: 256 bytes, blocks: 8, tasks: 2, at: $D040, readable: false, latch: { at: $D080, enable: 7, write: 1, task: 0, readable: false }, powerOn: off, fixed: [{ at: $C000, size: 16 KiB }] }",
      "  tick: { at: $D020, bit: 7, every: 20000, interrupts: true }",
    ],
  },
  "6502": {
    part: "6502",
    memory: [
      "    main: { kind: ram, at: $0000, size: 1 KiB }",
      WINDOW,
      "    devices: { kind: io, at: $D000, size: 256 bytes }",
      "    extra: { kind: rom, at: $C000, size: 256 bytes, file: extra.rom }",
      "    monitor: { kind: rom, at: $E000, size: 8 KiB, chips: 2764 }",
    ],
    port: "uart: 6551, at: $D010, clock: 1.8432 MHz, code: 14, format: 8N1",
    more: ["  timers: { pace: { part: 6522, at: $D020 } }"],
  },
  Z80: {
    part: "Z80A",
    memory: [
      "    monitor: { kind: rom, at: $0000, size: 8 KiB, chips: 2764 }",
      "    main: { kind: ram, at: $8000, size: 1 KiB }",
      WINDOW,
      "    devices: { kind: io, at: $D000, size: 256 bytes }",
      "    extra: { kind: rom, at: $C000, size: 256 bytes, file: extra.rom }",
    ],
    port: "uart: 8251, at: $10, clock: 1.8432 MHz, divide: 12, ratio: 16, format: 8N1",
    more: ["  tick: { at: $20, bit: 0, every: 20000 }"],
  },
};

export type SmallName = keyof typeof CPUS;
export const SMALL_NAMES = ["6809", "6502", "Z80"] as const;

/** A small bench; `changes` exchanges pieces of its text, each of which must be there. */
export function smallBench(name: SmallName, changes: readonly (readonly [from: string, to: string])[] = []): Bench {
  const { part, memory, port, more = [] } = CPUS[name];
  let text = [
    "rouse: 1",
    `name: small ${name}`,
    "computer:",
    `  name: Larkfield ${name}`,
    `  cpu: { part: ${JSON.stringify(part)}, clock: 1 MHz }`,
    "  memory:",
    ...memory,
    ...more,
    "ports:",
    `  console: { ${port} }`,
    `  second: { ${port.replace("$D010", "$D014").replace("$10,", "$14,")} }`,
  ].join("\n");
  for (const [from, to] of changes) {
    if (!text.includes(from)) throw new Error(`the small bench has no “${from}”`);
    text = text.replace(from, to);
  }
  const { bench, issues } = readBench(text, catalogue);
  if (!bench) throw new Error(issues.map((each) => each.sentence).join("; "));
  return bench;
}
