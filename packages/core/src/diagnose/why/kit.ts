import type {
  Bench,
  BenchBus,
  BenchCable,
  BenchComputer,
  BenchDrive,
  BenchImage,
  BenchPort,
  BenchRail,
  BenchTerminal,
} from "../../bench/index.ts";
import type { Source } from "../../catalogue/index.ts";
import { HANDBOOK, JUDGEMENT } from "./rates.ts";
import type { Cause, CauseClass, Fault, Hazard, Manner } from "./types.ts";

/** What of a bench takes part in the start: the way from the shown image to the terminal that shows it. */
export interface Kit {
  bench: Bench;
  computer?: BenchComputer;
  /** Rails that the bench names; one without a name where it names none. */
  rails: readonly BenchRail[];
  /** Rails of the logic and of the line driver. */
  logicRails: readonly string[];
  levelRails: readonly string[];
  port?: BenchPort;
  cable?: BenchCable;
  terminal?: BenchTerminal;
  image?: BenchImage;
  drive?: BenchDrive;
  bus?: BenchBus;
}

const UNNAMED: BenchRail = { name: "supply", path: "computer.supply" };

export function kitOf(bench: Bench): Kit {
  const { computer, show } = bench;
  const cable =
    bench.cables.find(({ from, to }) => from.name === show?.port?.name && to.name === show?.terminal?.name) ??
    bench.cables[0];
  const port = show?.port ?? cable?.from ?? bench.ports[0];
  const terminal = show?.terminal ?? cable?.to ?? bench.terminals[0];
  const image = show?.image ?? bench.images[0];
  const drive = image?.drive ?? bench.drives[0];
  const bus = bench.buses.find((each) => each.name === drive?.bus);
  const rails = computer ? (computer.rails.length > 0 ? computer.rails : [UNNAMED]) : [];
  const known = (names: readonly string[]) => names.filter((name) => rails.some((rail) => rail.name === name));
  const logic = known(computer?.cpu?.chip?.supply.map(({ rail }) => rail) ?? []);
  const memory = known(
    computer?.regions.flatMap(({ kind, chip }) =>
      kind === "io" ? [] : (chip?.supply.map(({ rail }) => rail) ?? []),
    ) ?? [],
  );
  const logicRails = logic.length > 0 ? logic : rails.slice(0, 1).map(({ name }) => name);
  return {
    bench,
    rails,
    logicRails: [...new Set([...logicRails, ...memory])],
    levelRails: known(port?.driver?.chip?.supply.map(({ rail }) => rail) ?? []),
    ...(computer ? { computer } : {}),
    ...(port ? { port } : {}),
    ...(cable ? { cable } : {}),
    ...(terminal ? { terminal } : {}),
    ...(image ? { image } : {}),
    ...(drive ? { drive } : {}),
    ...(bus ? { bus } : {}),
  };
}

export type FaultRow = readonly [node: string, manner: Manner, share: number, force?: number];

const faultsOf = (rows: readonly FaultRow[]): Fault[] => {
  const whole = rows.reduce((sum, row) => sum + row[2], 0);
  return rows.map(([node, manner, share, force]) => ({
    node,
    manner,
    share: share / whole,
    ...(force === undefined ? {} : { force }),
  }));
};

/** A cause as its maker writes it. */
export interface CauseDraft {
  id: string;
  link: Cause["link"];
  part: string;
  class: CauseClass;
  weight: number;
  /** Words of the weight where it is a rate of the handbook; a judgement where left out. */
  rate?: string;
  faults: readonly FaultRow[];
  remedy: string;
  hazards?: readonly Hazard[];
  checks?: readonly string[];
  about?: string;
  at?: string;
  board?: string;
  socketed?: boolean;
}

const IN_WORDS: Readonly<Record<CauseClass, string>> = {
  part: "parts that fail",
  contact: "contacts and joints",
  line: "cable and settings of the line",
  disk: "disk, head and image",
  system: "what the system asks of the bench",
  other: "what is not listed",
};

export function causeOf({ rate, faults, hazards = [], checks = [], ...rest }: CauseDraft): Cause {
  const source: Source = rate === undefined ? JUDGEMENT : HANDBOOK;
  return {
    ...rest,
    kind: rest.id.split("/")[0]!,
    because: rate ?? `weight ${rest.weight} among ${IN_WORDS[rest.class]}`,
    source,
    faults: faultsOf(faults),
    hazards,
    checks,
  };
}

/** Hazards of opening the computer and measuring in it with the power on. */
export const liveInside = (kit: Kit): Hazard[] =>
  kit.computer?.mains === "inside" ? ["mains", "capacitors"] : ["capacitors"];
