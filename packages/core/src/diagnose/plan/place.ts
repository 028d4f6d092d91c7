import type { CpuName } from "../../assemble/index.ts";
import type { Bench } from "../../bench/index.ts";
import { InputError } from "../../errors/index.ts";
import type { MemoryMap } from "../../memory/index.ts";
import type { Place } from "../types.ts";

/** Where a program lies, and how it is started. */
export interface Ground {
  place: Place;
  code: { from: number; to: number };
  vectors?: number;
  notes: readonly string[];
}

/** What decides where a program lies. */
interface Wish {
  place?: Place;
  /** Address for a program in memory. */
  at?: number;
  /** Bytes of the EPROM. */
  eprom?: number;
}

/** First address of the vectors: 6809 from its reserved word on, 6502 from NMI on. */
const VECTORS: Readonly<Record<CpuName, number | undefined>> = { "6809": 0xfff0, "6502": 0xfffa, Z80: undefined };

const CPUS: readonly (readonly [RegExp, CpuName])[] = [
  [/6809|6[38][A-C]?09/i, "6809"],
  [/6502|65C02|6510/i, "6502"],
  [/Z-?80|Z84C00/i, "Z80"],
];

/** Where a program is loaded if nothing is said: above what monitors keep for themselves (common practice, no source). */
const USUAL = 0x1000;

/** Ground for a program in place of the monitor's EPROM. */
function ofEprom(bench: Bench, map: MemoryMap, cpu: CpuName, eprom: number | undefined): Ground {
  const { computer } = bench;
  const roms = computer!.regions.filter((each) => each.kind === "rom" && each.only !== "write");
  const at = VECTORS[cpu];
  const view = map.view(map.powerOn);
  const answered = (address: number) => view.find(({ from, to }) => from <= address && address <= to)?.read;
  const entry = at === undefined ? (computer!.cpu?.start ?? 0) : undefined;
  const first = answered(entry ?? 0xffff);
  const region = first && roms.find((each) => each.name === first.region);
  if (!first || !region)
    throw new InputError(
      "no-rom-place",
      `No ROM of this bench answers where the CPU starts (${entry === undefined ? "its vectors" : `$${entry.toString(16).toUpperCase().padStart(4, "0")}`}): let the program be loaded into memory instead.`,
    );
  // Vectors may be a region of their own on the same chip; the code goes into the largest region of it.
  const own = roms
    .filter((each) => each.name === region.name || map.part(first.part).regions.includes(each.name))
    .sort((a, b) => b.to - b.from - (a.to - a.from))[0]!;
  const smaller = eprom !== undefined && eprom < map.part(first.part).bytes ? eprom : undefined;
  const notes =
    smaller === undefined
      ? []
      : [
          `An EPROM of ${smaller} bytes answers everywhere in the place of the larger one only if its own pins are wired alike: compare the data sheets of both.`,
        ];
  if (entry !== undefined) {
    const to = smaller === undefined ? own.to : Math.min(own.to, entry + smaller - 1);
    return { place: "eprom", code: { from: entry, to }, notes };
  }
  const from = smaller === undefined ? own.from : Math.max(own.from, 0x1_0000 - smaller);
  if (from >= at!) throw new InputError("no-room", `There is no room for a program in ${eprom} bytes here.`);
  return { place: "eprom", code: { from, to: Math.min(own.to, at! - 1) }, vectors: at!, notes };
}

/** Ground in memory that is seen at power-on. */
function ofMemory(map: MemoryMap, at: number | undefined): Ground {
  const runs = map
    .view(map.powerOn)
    .filter(({ read, write }) => read?.kind === "ram" && write?.part === read.part && write.offset === read.offset);
  const wanted = at ?? USUAL;
  const inside = runs.find(({ from, to }) => from <= wanted && wanted <= to);
  if (at !== undefined && !inside)
    throw new InputError(
      "no-memory-there",
      `There is no memory at $${at.toString(16).toUpperCase().padStart(4, "0")} to load the program into.`,
    );
  const longest = [...runs].sort((a, b) => b.to - b.from - (a.to - a.from))[0];
  const run = inside ?? longest;
  if (!run) throw new InputError("no-memory", "There is no memory to load a program into: computer.memory.");
  const from = inside ? wanted : Math.min(run.to, (run.from + 0x300) & 0xff00);
  return { place: "memory", code: { from, to: run.to }, notes: [] };
}

export const groundOf = (bench: Bench, map: MemoryMap, cpu: CpuName, { place, at, eprom }: Wish): Ground =>
  place === "memory" ? ofMemory(map, at) : ofEprom(bench, map, cpu, eprom);

/** The CPU of a bench. Throws an `InputError` where programs are not made for it. */
export function cpuNameOf(bench: Bench): CpuName {
  const cpu = bench.computer?.cpu;
  const name = cpu?.chip?.cpu?.instructionSet ?? cpu?.part ?? "";
  const found = CPUS.find(([pattern]) => pattern.test(name));
  if (found) return found[1];
  throw new InputError(
    "no-cpu",
    cpu?.part === undefined
      ? "A test program needs computer.cpu.part: a 6809, 6502 or Z80."
      : `Test programs are made for the 6809, 6502 and Z80, and not for the ${cpu.part}.`,
  );
}
