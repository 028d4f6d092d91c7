import { BugError } from "../errors/index.ts";
import type { CpuState } from "./types.ts";

/** Copies number fields of a CPU out. */
export function saveFields<F extends string>(cpu: object, fields: readonly F[]): CpuState {
  const values = cpu as Record<F, number>;
  return Object.fromEntries(fields.map((field) => [field, values[field]]));
}

/** Puts saved fields back. Throws BugError where the state is not that CPU's. */
export function restoreFields<F extends string>(cpu: object, fields: readonly F[], state: CpuState): void {
  const values = cpu as Record<F, number>;
  for (const field of fields) {
    const value = state[field];
    if (value === undefined) throw new BugError(`CPU state: no ${field}`);
    values[field] = value;
  }
}
