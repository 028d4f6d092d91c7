import type { Origin } from "./types.ts";

/** Where in the bench file: keys from the top down. */
export type Path = readonly (string | number)[];
/** Drops keys whose value is undefined, as `exactOptionalPropertyTypes` wants it. */
export const given = <T extends object>(each: T): { [K in keyof T]: Exclude<T[K], undefined> } => {
  const out: Record<string, unknown> = {};
  for (const [key, value] of Object.entries(each)) if (value !== undefined) out[key] = value;
  return out as { [K in keyof T]: Exclude<T[K], undefined> };
};

/** What is written of where an image came from. */
export const originOf = ({
  from,
  received,
  permission,
  licence,
}: { [K in keyof Origin]?: string | undefined }): Origin => given({ from, received, permission, licence });
