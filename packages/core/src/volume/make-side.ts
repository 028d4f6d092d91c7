import { InputError } from "../errors/index.ts";
import { nearest } from "../errors/nearest.ts";

/** What a folder cannot say of a volume and its files; `docs/making-images.md` lists the keys of each kind. */
export interface Side {
  volume: SideVolume;
  /** File with the boot block or the reserved tracks, beside the side file. */
  boot?: string;
  files: ReadonlyMap<string, Readonly<Record<string, string | number | boolean>>>;
}

export interface SideVolume {
  label?: string;
  /** Of a chained-block volume: two characters. */
  id?: string;
  lastByte?: "index" | "count";
  /** Of a FAT12 volume: 32 bits. */
  serial?: number;
  /** Of a segment-list volume. */
  owner?: number;
  created?: string;
  number?: number;
  clusterSectors?: number;
  bootstrap?: string;
  singleDensity?: boolean;
  /** Of an extent-entry volume. */
  skew?: number;
  reservedTracks?: number;
  blockSize?: number;
  entries?: number;
}

export const NO_SIDE: Side = { volume: {}, files: new Map() };

const VOLUME_KEYS: Readonly<Record<keyof SideVolume, "text" | "number" | "yes or no">> = {
  label: "text",
  id: "text",
  lastByte: "text",
  serial: "number",
  owner: "number",
  created: "text",
  number: "number",
  clusterSectors: "number",
  bootstrap: "text",
  singleDensity: "yes or no",
  skew: "number",
  reservedTracks: "number",
  blockSize: "number",
  entries: "number",
};

/** Wishes of the four builders. */
const FILE_KEYS: Readonly<Record<string, "text" | "number" | "yes or no">> = {
  readOnly: "yes or no",
  hidden: "yes or no",
  system: "yes or no",
  archive: "yes or no",
  modified: "text",
  created: "text",
  attributes: "text",
  owner: "number",
  segments: "number",
  kind: "text",
  recordLength: "number",
  locked: "yes or no",
  open: "yes or no",
  sparse: "yes or no",
};

const refuse = (where: string, sentence: string): never => {
  throw new InputError("side-file", `${where}: ${sentence}`);
};

const isMap = (value: unknown): value is Record<string, unknown> =>
  typeof value === "object" && value !== null && !Array.isArray(value);

function checked(
  where: string,
  of: string,
  value: unknown,
  keys: Readonly<Record<string, "text" | "number" | "yes or no">>,
): Record<string, string | number | boolean> {
  if (value === null || value === undefined) return {};
  if (!isMap(value)) return refuse(where, `${of} must be keys with values.`);
  const out: Record<string, string | number | boolean> = {};
  for (const [key, each] of Object.entries(value)) {
    const type = Object.hasOwn(keys, key) ? keys[key] : undefined;
    if (type === undefined) {
      const close = nearest(key, Object.keys(keys));
      return refuse(where, `“${key}” is not a key of ${of}${close ? `; did you mean “${close}”?` : ""}.`);
    }
    if (type === "number" && typeof each === "number" && Number.isInteger(each) && each >= 0) out[key] = each;
    else if (type === "yes or no" && typeof each === "boolean") out[key] = each;
    // YAML reads 12 as a number, and an ID or a label may be one.
    else if (type === "text" && (typeof each === "string" || typeof each === "number")) out[key] = String(each);
    else
      return refuse(
        where,
        `${of}.${key} is ${type === "number" ? "a whole number" : type === "text" ? "a text" : "true or false"}, not “${String(each)}”.`,
      );
  }
  return out;
}

/** Reads a side file from its parsed YAML. `where` names the file. Throws an `InputError` for anything unknown in it. */
export function readSide(data: unknown, where: string): Side {
  if (data === null || data === undefined) return NO_SIDE;
  if (!isMap(data)) return refuse(where, "a side file has the keys volume, boot and files.");
  for (const key of Object.keys(data))
    if (!["volume", "boot", "files"].includes(key))
      refuse(where, `“${key}” is not a key here; there is volume, boot, files.`);
  const volume = checked(where, "volume", data.volume, VOLUME_KEYS) as SideVolume;
  if (volume.lastByte !== undefined && volume.lastByte !== "index" && volume.lastByte !== "count")
    refuse(where, `volume.lastByte is index or count, not “${String(volume.lastByte)}”.`);
  const files = new Map<string, Record<string, string | number | boolean>>();
  if (data.files !== undefined && data.files !== null) {
    if (!isMap(data.files)) return refuse(where, "files must be paths with their wishes.");
    for (const [path, wishes] of Object.entries(data.files))
      files.set(path, checked(where, `files.${path}`, wishes, FILE_KEYS));
  }
  if (data.boot !== undefined && typeof data.boot !== "string") refuse(where, "boot names a file.");
  return { volume, files, ...(typeof data.boot === "string" ? { boot: data.boot } : {}) };
}
