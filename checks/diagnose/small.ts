import { type Bench, readBench } from "@rouse/core/bench";
import { loadCatalogue } from "@rouse/core/catalogue";

/** Benches small enough that faults can be run one by one: a little main memory, and a window of four banks of 64 bytes. */

const catalogue = loadCatalogue();
const places = (first: number) => Array.from({ length: 8 }, (_, index) => `U${first + index}`).join(", ");

const CPUS = {
  "6809": {
    part: "MC68A09E",
    main: "at: $0000, size: 256 bytes",
    window: "$C000",
    latch: "{ at: $FF7F, bits: 2, powerOn: 0 }",
    rest: `    monitor: { kind: rom, at: $E000, size: 7936 bytes, file: monitor.rom, chips: 2764, places: [U12] }
    ports: { kind: io, at: $FF00, size: 128 bytes }
    vectors: { kind: rom, at: $FF80, size: 128 bytes, file: vectors.rom, shares: monitor, offset: $1F80 }`,
    port: "uart: MC6850, at: $FF00, clock: 1.8432 MHz, divide: 48, ratio: 16",
  },
  "6502": {
    part: "6502",
    main: "at: $0000, size: 512 bytes",
    window: "$C000",
    latch: "{ at: $D080, bits: 2, powerOn: 0 }",
    rest: `    ports: { kind: io, at: $D000, size: 256 bytes }
    monitor: { kind: rom, at: $E000, size: 8 KiB, file: monitor.rom, chips: 2764, places: [U12] }`,
    port: "uart: 6551, at: $D000, clock: 1.8432 MHz, code: 10",
  },
  Z80: {
    part: "Z80A",
    main: "at: $8000, size: 256 bytes",
    window: "$C000",
    latch: "{ at: $D000, bits: 2, powerOn: 0 }",
    rest: `    latches: { kind: io, at: $D000, size: 256 bytes }
    monitor: { kind: rom, at: $0000, size: 8 KiB, file: monitor.rom, chips: 2764, places: [U12] }`,
    port: "uart: 8251, at: $10, clock: 2.4576 MHz, divide: 16, ratio: 16",
  },
};

/** `bytes`: those of main memory, where it is not as small as it can be. */
export function smallBench(cpu: keyof typeof CPUS = "6809", bytes?: number): Bench {
  const { part, main, window, latch, rest, port } = CPUS[cpu];
  const { bench, issues } = readBench(
    `rouse: 1
name: small
computer:
  name: small
  cpu: { part: ${part}, clock: 1.5 MHz }
  memory:
    main: { kind: ram, ${bytes === undefined ? main : main.replace(/\d+ bytes/, `${bytes} bytes`)}, chips: 2102, board: main board, places: [${places(20)}] }
    window:
      kind: window
      at: ${window}
      size: 64 bytes
      banks: 4
      chips: 2102
      board: main board
      places: [${places(30)}]
      latch: ${latch}
${rest}
  boards: { main board: { chips: [{ part: ${part} }] } }
ports:
  console: { ${port}, format: 8N1, connector: DB-25, role: DTE, levels: V.28 }
`,
    catalogue,
  );
  if (!bench) throw new Error(issues.map((each) => each.sentence).join("; "));
  return bench;
}
