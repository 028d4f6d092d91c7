import { createRehearsal } from "@rouse/core/rehearse";
import { demoBench, demoFiles } from "../rehearse/demo-bench.ts";

/** A fault that the rehearsal can be given: what the machine then shows comes from its CPU, ROM and system, not from the search. */
export interface Planted {
  what: string;
  /** Function of the machine and manner, as the search calls it. */
  node: string;
  manner: "dead" | "wrong";
  /** Text of the bench file to exchange. */
  bench?: readonly (readonly [string, string])[];
  rom?: (bytes: Uint8Array) => void;
  disk?: (bytes: Uint8Array) => Uint8Array;
}

/** The bytes of a text in an image spoilt, wherever it stands. */
function spoilt(text: string): (bytes: Uint8Array) => Uint8Array {
  return (bytes) => {
    const found = Uint8Array.from(bytes);
    const wanted = Buffer.from(text, "latin1");
    const image = Buffer.from(bytes);
    for (let at = image.indexOf(wanted); at >= 0; at = image.indexOf(wanted, at + 1))
      found.fill(0x55, at, at + text.length);
    return found;
  };
}

const CABLE = "kind: null modem,";
const TERMINAL = "rate: 2,400 bit/s\n    format: 7E1";

export const PLANTED: readonly Planted[] = [
  {
    what: "terminal at half the rate",
    node: "settings",
    manner: "wrong",
    bench: [[TERMINAL, TERMINAL.replace("2,400", "1,200")]],
  },
  { what: "port clock twice as fast", node: "portClock", manner: "wrong", bench: [["1.8432 MHz", "3.6864 MHz"]] },
  { what: "straight cable", node: "wireOut", manner: "dead", bench: [[CABLE, "kind: straight,"]] },
  {
    what: "wire to the terminal open",
    node: "wireOut",
    manner: "dead",
    bench: [[CABLE, "kind: wired, wires: [[3, 2], [7, 7]],"]],
  },
  {
    what: "wire from the terminal open",
    node: "wireBack",
    manner: "dead",
    bench: [[CABLE, "kind: wired, wires: [[2, 3], [7, 7]],"]],
  },
  { what: "another disk in the drive", node: "written", manner: "wrong", disk: ({ length }) => new Uint8Array(length) },
  { what: "drive with one head", node: "written", manner: "dead", bench: [["track-two-side", "track-one-side"]] },
  { what: "another bus address", node: "bus", manner: "dead", bench: [["address: 8", "address: 9"]] },
  { what: "kernel damaged on the image", node: "image", manner: "wrong", disk: spoilt("Tern cannot start") },
  { what: "login damaged on the image", node: "image", manner: "wrong", disk: spoilt("no such name and password") },
  { what: "start-up damaged on the image", node: "image", manner: "wrong", disk: spoilt("Tern, edition 1") },
  ...[0, 2, 5, 7].map(
    (bit): Planted => ({
      what: `ROM whose bit ${bit} is always high`,
      node: "rom",
      manner: "wrong",
      rom: (bytes) => {
        for (const [at, byte] of bytes.entries()) bytes[at] = byte | (1 << bit);
      },
    }),
  ),
];

const LONGEST = 40;
/** More than this share of characters with wrong parity or no stop bit is garbage. */
const GARBLED = 0.1;

/** What a person at the screen would call it, by the ids of the outcomes of the test `screen`. */
export function picture({ bench: changes = [], rom, disk }: Planted): string {
  const bench = demoBench("mended", changes);
  const files = demoFiles("mended", bench);
  const roms = new Map([...files.roms].map(([name, bytes]) => [name, Uint8Array.from(bytes)]));
  const monitor = [...roms].find(([name]) => name.includes("monitor"))![1];
  rom?.(monitor);
  const images = new Map([...files.images].map(([name, bytes]) => [name, disk ? disk(bytes) : bytes]));
  const machine = createRehearsal(bench, { roms, images });
  const ended = machine.runUntilShown("login: ", LONGEST);
  if (ended === "until") {
    const from = machine.screen().received;
    machine.type("visitor\r");
    return machine.runUntilShown("visitor", 5, from) === "until" ? "works" : "no-keys";
  }
  const { received, faults } = machine.screen();
  const shown = machine.received();
  if (received === 0) return "blank";
  if (faults > GARBLED * received || !/[a-z]{4}/i.test(shown)) return "garbage";
  if (/drive failed|starts nothing|does not give it/.test(shown)) return "disk-error";
  const reads = machine.state().drives.reduce((sum, each) => sum + each.reads, 0);
  return reads > 3 || /sums are wrong|no module|cannot start/.test(shown) ? "loading" : "banner";
}
