import { BugError } from "../errors/index.ts";
import type { CpuState } from "./types.ts";

/** Copies number fields of a CPU, or of a part of it, out; `prefix` goes before their names. */
export function saveFields<F extends string>(cpu: object, fields: readonly F[], prefix = ""): CpuState {
  const values = cpu as Record<F, number>;
  return Object.fromEntries(fields.map((field) => [prefix + field, values[field]]));
}

/** Puts saved fields back. Throws BugError where the state is not that CPU's. */
export function restoreFields<F extends string>(cpu: object, fields: readonly F[], state: CpuState, prefix = ""): void {
  const values = cpu as Record<F, number>;
  for (const field of fields) {
    const value = state[prefix + field];
    if (value === undefined) throw new BugError(`CPU state: no ${prefix}${field}`);
    values[field] = value;
  }
}
