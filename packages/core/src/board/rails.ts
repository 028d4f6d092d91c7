import type { BenchComputer, BenchRail } from "../bench/index.ts";
import {
  type FeedDrop,
  feedDrop,
  type Heat,
  type RailLoad,
  type Ripple,
  railLoad,
  regulatorHeat,
  rippleOf,
  WASHER,
} from "./supply.ts";

/** Share of the limit to keep free where the bench says nothing: old regulators and rectifiers run hot. */
export const RESERVE = 0.2;
/** The rail that feeds the boards' logic, and the lowest supply of 74LS parts, V (SDLS025B). */
export const LOGIC_RAIL = "+5 V";
export const LOWEST_LOGIC = 4.75;

/** A regulator under a rail's greatest load. */
export interface RegulatorState {
  part: string;
  heat: Heat;
  /** Greatest junction temperature, °C. */
  limit: number;
  /** V that it has between input and output at the least, and that it needs. */
  headroom: number;
  dropout?: number;
  /** Current that it may give, A. */
  current?: number;
}

/** What a board's own supply wires leave of a rail, V: usually, and with the rail at the low end of its tolerance. */
export interface FeedState extends FeedDrop {
  board: string;
  path: string;
  current: number;
  usual: number;
  lowest: number;
  /** Least that the parts are rated for, V. */
  needed: number;
}

/** Everything that is worked out of a rail of the supply. Currents in A, voltages in V. */
export interface RailState {
  rail: string;
  path: string;
  load: RailLoad;
  limit?: number;
  /** Current to keep free. */
  reserve?: number;
  regulator?: RegulatorState;
  ripple?: Ripple & { needed?: number };
  feeds: readonly FeedState[];
  /** Keys of the bench without which part of this is not known. */
  missing: readonly string[];
}

/** The regulator of a rail at a current; the keys that are missing otherwise. */
export function regulatorOf(
  rail: BenchRail,
  current: number,
): RegulatorState | { missing: readonly string[] } | undefined {
  const { regulator, path } = rail;
  if (!regulator) return undefined;
  const values = regulator.chip?.regulator;
  const part = `${path}.regulator.part`;
  if (!values) return { missing: [part] };
  const { input, ambient, heatSink } = regulator;
  if (!input || !ambient)
    return {
      missing: (["input", "ambient"] as const)
        .filter((key) => !regulator[key])
        .map((key) => `${path}.regulator.${key}`),
    };
  const { junctionToCase, junctionToAmbient, junctionMax, dropout } = values;
  const resistance = heatSink
    ? junctionToCase && junctionToCase.value.value + WASHER + heatSink.value
    : junctionToAmbient?.value.value;
  if (!junctionMax || resistance === undefined) return { missing: [part] };
  const output = values.output.value.value;
  const [least, most] = [Math.abs(input.low), Math.abs(input.high)].sort((a, b) => a - b) as [number, number];
  return {
    part: regulator.part,
    heat: regulatorHeat(most, output, current, ambient.high, resistance),
    limit: junctionMax.value.value,
    headroom: least - Math.abs(output),
    ...(dropout ? { dropout: dropout.value.value } : {}),
    ...(values.current ? { current: values.current.value.value } : {}),
  };
}

/** Works every rail of the supply out under its greatest load. */
export function railStates(computer: BenchComputer): RailState[] {
  return computer.rails.map((rail): RailState => {
    const load = railLoad(computer, rail.name);
    const limit = rail.limit?.low;
    const regulator = regulatorOf(rail, load.max);
    const ripple = rippleOf(rail, load.max);
    const { missing: feedMissing, feeds } = feedStates(computer, rail);
    const values = rail.regulator?.chip?.regulator;
    const needed = values?.dropout && Math.abs(values.output.value.value) + values.dropout.value.value;
    return {
      rail: rail.name,
      path: rail.path,
      load,
      feeds,
      missing: [
        ...load.missing,
        ...(regulator && "missing" in regulator ? regulator.missing : []),
        ...(ripple && "missing" in ripple ? ripple.missing : []),
        ...feedMissing,
      ],
      ...(limit === undefined ? {} : { limit, reserve: (rail.reserve?.value ?? RESERVE) * limit }),
      ...(regulator && !("missing" in regulator) ? { regulator } : {}),
      ...(ripple && !("missing" in ripple)
        ? { ripple: { ...ripple, ...(needed === undefined ? {} : { needed }) } }
        : {}),
    };
  });
}

function feedStates(computer: BenchComputer, rail: BenchRail): { feeds: FeedState[]; missing: string[] } {
  const feeds: FeedState[] = [];
  const missing: string[] = [];
  if (rail.name !== LOGIC_RAIL) return { feeds, missing };
  for (const board of computer.boards) {
    const { max, missing: unknownParts } = railLoad({ ...computer, boards: [board] }, rail.name);
    const drop = feedDrop(board, max);
    if (!drop) continue;
    const here = [
      ...("missing" in drop ? drop.missing : []),
      ...(rail.voltage ? [] : [`${rail.path}.voltage`]),
      ...unknownParts,
    ];
    if ("missing" in drop || !rail.voltage || here.length > 0) missing.push(...here);
    else
      feeds.push({
        ...drop,
        board: board.name,
        path: `${board.path}.feed`,
        current: max,
        usual: rail.voltage.value - drop.drop,
        lowest: rail.voltage.low - drop.drop,
        needed: LOWEST_LOGIC,
      });
  }
  return { feeds, missing };
}
