import { type Bench, readBench } from "@rouse/core/bench";
import { loadCatalogue } from "@rouse/core/catalogue";

/** A bench small enough that every fault of it can be run: 256 bytes of main memory, and a window of four banks of 64. */

const catalogue = loadCatalogue();
const places = (first: number) => Array.from({ length: 8 }, (_, index) => `U${first + index}`).join(", ");

export function smallBench(): Bench {
  const { bench, issues } = readBench(
    `rouse: 1
name: small
computer:
  name: small
  cpu: { part: MC68A09E, clock: 1.5 MHz }
  memory:
    main: { kind: ram, at: $0000, size: 256 bytes, chips: 2102, board: main board, places: [${places(20)}] }
    window:
      kind: window
      at: $C000
      size: 64 bytes
      banks: 4
      chips: 2102
      board: main board
      places: [${places(30)}]
      latch: { at: $FF7F, bits: 2, powerOn: 0 }
    monitor: { kind: rom, at: $E000, size: 7936 bytes, file: monitor.rom, chips: 2764, places: [U12] }
    ports: { kind: io, at: $FF00, size: 128 bytes }
    vectors: { kind: rom, at: $FF80, size: 128 bytes, file: vectors.rom, shares: monitor, offset: $1F80 }
  boards: { main board: { chips: [{ part: MC68A09E }] } }
ports:
  console: { uart: MC6850, at: $FF00, clock: 1.8432 MHz, divide: 48, ratio: 16, format: 8N1, connector: DB-25, role: DTE, levels: V.28 }
`,
    catalogue,
  );
  if (!bench) throw new Error(issues.map((each) => each.sentence).join("; "));
  return bench;
}
