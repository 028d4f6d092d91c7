/** One measured figure beside its aim. `value` is a ratio unless the unit says otherwise. */
export interface Measured {
  name: string;
  value: number;
  unit: string;
  aim: string;
  met: boolean;
}

/** Median of `runs` timings of `what`, in ms. */
export function medianMs(runs: number, what: () => void): number {
  const times: number[] = [];
  for (let run = 0; run < runs; run++) {
    const start = process.hrtime.bigint();
    what();
    times.push(Number(process.hrtime.bigint() - start) / 1e6);
  }
  return times.sort((a, b) => a - b)[times.length >> 1]!;
}

/** Median processor time in ms, all threads of the process: other programs on the machine don't count, as they would by the clock. */
export function medianCpuMs(runs: number, what: () => void): number {
  const times: number[] = [];
  for (let run = 0; run < runs; run++) {
    const start = process.cpuUsage();
    what();
    const { user, system } = process.cpuUsage(start);
    times.push((user + system) / 1e3);
  }
  return times.sort((a, b) => a - b)[times.length >> 1]!;
}

export const atMost = (name: string, value: number, aim: number, unit = "×"): Measured => ({
  name,
  value,
  unit,
  aim: `≤ ${aim}`,
  met: value <= aim,
});
