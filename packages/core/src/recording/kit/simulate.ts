import { transitionTimes } from "../budget.ts";
import type { Capture } from "../capture/index.ts";
import type { Cells } from "../cells.ts";
import { Random } from "./random.ts";

/** How a simulated read signal departs from the ideal. Shares are of the cell or of nominal speed. */
export interface ReadFaults {
  turns?: number;
  /** Deviation of each transition's time, normally distributed, as a share of the cell. */
  jitter?: number;
  /** +0.03 turns 3 % fast. */
  speed?: number;
  /** Swing of the speed within a turn, once each turn, as a share: 0.01 goes from 1 % slow to 1 % fast. */
  drift?: number;
  /** Share of transitions that are missing, and of those with another one somewhere before them. */
  dropped?: number;
  extra?: number;
  seed?: number;
  /** Without it the capture has no index. */
  index?: boolean;
}

/** What a drive would read of a turn of cells, `turns` times round. */
export function simulateRead(cells: Cells, cellSeconds: number, faults: ReadFaults = {}): Capture {
  const { turns = 1, jitter = 0, speed = 0, drift = 0, dropped = 0, extra = 0, seed = 1 } = faults;
  const random = new Random(seed);
  const ideal = transitionTimes(cells.bits, cells.length, cellSeconds);
  const turnSeconds = cells.length * cellSeconds;
  const times: number[] = [];
  const index: number[] = [];
  /** Time at which a share of a turn has passed: the integral of 1 ÷ speed, to first order in the drift. */
  const warped = (seconds: number): number => {
    const angle = (2 * Math.PI * seconds) / turnSeconds;
    return (seconds + (drift * turnSeconds * (Math.cos(angle) - 1)) / (2 * Math.PI)) / (1 + speed);
  };
  const whole = turnSeconds / (1 + speed);
  for (let turn = 0; turn < turns; turn++) {
    index.push(turn * whole);
    for (const each of ideal) {
      if (dropped > 0 && random.next() < dropped) continue;
      const time = turn * whole + warped(each);
      times.push(jitter > 0 ? time + jitter * cellSeconds * random.normal() : time);
      if (extra > 0 && random.next() < extra) times.push(time - random.next() * 4 * cellSeconds);
    }
  }
  index.push(turns * whole);
  const transitions = Float64Array.from(times).sort();
  return { transitions, index: Float64Array.from(faults.index === false ? [] : index), notes: [] };
}
