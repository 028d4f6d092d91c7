import { visible } from "../bytes/index.ts";
import { type Entry, OWNER, type Volume, type VolumeKind } from "../volume/index.ts";
import { type Ask, gatherAsks } from "./asks.ts";
import { type Configuration, readConfiguration } from "./configuration.ts";
import { type Descriptor, readDescriptor } from "./descriptor.ts";
import { eachFile, filesOf } from "./files.ts";
import { type FoundModule, findModules, MODULE_TYPE } from "./module.ts";
import {
  type Account,
  commandFile,
  type LoadedProgram,
  programFile,
  readAccounts,
  readCommandList,
  readScript,
  type ScriptLine,
} from "./startup.ts";
import { textOf } from "./text.ts";

export interface PlacedModule extends FoundModule {
  path: string;
}

export interface PlacedDescriptor extends Descriptor {
  path: string;
}

/** What the system on a volume is made of and asks for. Plain data: it goes to JSON as it stands. */
export interface SystemReport {
  kind: VolumeKind;
  modules: readonly PlacedModule[];
  boot: {
    /** File that is loaded at boot, and how it was told from the others. */
    file?: string;
    how?: string;
    configuration?: Configuration & { path: string };
  };
  /** Every module, program and device asked for, with who asks and whether it is there. */
  asks: readonly Ask[];
  descriptors: readonly PlacedDescriptor[];
  accounts: readonly { path: string; accounts: readonly Account[] }[];
  scripts: readonly { path: string; lines: readonly ScriptLine[] }[];
  /** Programs with a fixed load address. */
  programs: readonly LoadedProgram[];
  /** Files left unread because entries that claim the same blocks would read the image over and over. */
  unread: number;
  /** Blocks that belong to the system and to no file: reserved tracks, a boot track. */
  systemBlocks: number;
  /** What the volume says of its reserved tracks: how many, and whether they hold something. */
  systemTracks?: string;
  /** Paths of the files that hold text. */
  texts: readonly string[];
}

/** Bytes beside the volume in which modules are in memory at boot too: a ROM image. */
export interface BesideVolume {
  path: string;
  bytes: Uint8Array;
}

/** File names of start-up scripts on segment-list volumes, from memory; letter case does not count. */
const START_UP = "startup";

const baseName = (path: string): string => path.slice(path.lastIndexOf("/") + 1);
const isNamed = (path: string, name: string): boolean => baseName(path).toLowerCase() === name;
const hasType = (path: string, type: string): boolean => baseName(path).toUpperCase().endsWith(`.${type}`);

/**
 * Reads every file of a volume once and tells what system it holds. Files marked as deleted are passed over. Takes any
 * volume, however damaged; nothing is thrown for what the files hold.
 */
export function inspectSystem(volume: Volume, beside: readonly BesideVolume[] = []): SystemReport {
  const modules: PlacedModule[] = [];
  const descriptors: PlacedDescriptor[] = [];
  const configurations: (Configuration & { path: string })[] = [];
  const accounts: SystemReport["accounts"][number][] = [];
  const scripts: SystemReport["scripts"][number][] = [];
  const programs: LoadedProgram[] = [];
  const texts: string[] = [];

  const takeModules = (path: string, bytes: Uint8Array): boolean => {
    const found = findModules(bytes);
    for (const module of found) {
      modules.push({ path, ...module });
      const descriptor = readDescriptor(bytes, module);
      if (descriptor) descriptors.push({ path, ...descriptor });
      const configuration = readConfiguration(bytes, module);
      if (configuration) configurations.push({ path, ...configuration });
    }
    return found.length > 0;
  };
  const takeText = (path: string, bytes: Uint8Array): void => {
    texts.push(path);
    const found = readAccounts(bytes);
    if (found.length > 0) accounts.push({ path, accounts: found });
    else if (volume.kind === "segment-list" && isNamed(path, START_UP))
      scripts.push({ path, lines: readScript(bytes) });
    else if (volume.kind === "extent-entry" && hasType(path, "SUB"))
      scripts.push({ path, lines: readCommandList(bytes) });
  };

  const unread = eachFile(volume, (path, bytes, entry) => {
    // Modules first: one that holds mostly messages would pass for text.
    const text = takeModules(path, bytes) ? null : textOf(bytes, volume.kind);
    if (text) takeText(path, text);
    if (volume.kind === "extent-entry" && hasType(path, "COM") && bytes.length > 0)
      programs.push(commandFile(path, bytes.length));
    if (volume.kind === "chained-block" && entry.kind === "program") {
      const program = programFile(path, bytes);
      if (program) programs.push(program);
    }
  });
  for (const { path, bytes } of beside) takeModules(visible(path), bytes);

  const files = filesOf(volume);
  const bootFile = findBootFile(volume, files, modules);
  const inBoot = (path: string): boolean =>
    path === bootFile?.file || beside.some((each) => visible(each.path) === path);
  const configuration = configurations.find((each) => inBoot(each.path)) ?? configurations[0];
  const systemTracks = factOf(volume, "System tracks");
  let systemBlocks = 0;
  for (const owner of volume.owners) if (owner === OWNER.system) systemBlocks++;

  return {
    kind: volume.kind,
    modules,
    boot: { ...bootFile, ...(configuration ? { configuration } : {}) },
    asks: gatherAsks({
      modules,
      // Without a known boot file every module counts as loaded: nothing can be said against it.
      loaded: bootFile ? modules.filter((each) => inBoot(each.path)) : modules,
      files: files.map((entry) => visible(entry.path)),
      commandType: volume.kind === "extent-entry" ? ".COM" : "",
      configuration,
      descriptors: bootFile ? descriptors.filter((each) => inBoot(each.path)) : descriptors,
      accounts,
      scripts,
    }),
    descriptors,
    accounts,
    scripts,
    programs,
    unread,
    systemBlocks,
    ...(systemTracks === undefined ? {} : { systemTracks: visible(systemTracks) }),
    texts,
  };
}

const factOf = (volume: Volume, label: string): string | undefined =>
  volume.facts.find((each) => each[0] === label)?.[1];

/** Where the volume says its bootstrap begins, in sectors: "700 bytes from sector 3 (hex 000003), 3 sectors". */
function bootstrapStart(volume: Volume): number | null {
  const start = /\bsector (\d+)/.exec(factOf(volume, "Bootstrap") ?? "")?.[1];
  return start === undefined ? null : Number(start);
}

/**
 * The file loaded at boot: the one whose first block is where the identification sector says the bootstrap begins;
 * else the one that holds most system modules.
 */
function findBootFile(
  volume: Volume,
  files: readonly Entry[],
  modules: readonly PlacedModule[],
): { file: string; how: string } | undefined {
  const start = bootstrapStart(volume);
  const named = start === null || start === 0 ? undefined : files.find((entry) => entry.blocks[0] === start);
  if (named)
    return { file: visible(named.path), how: `it begins at block ${start}, where the volume places its bootstrap` };
  const counts = new Map<string, number>();
  for (const { path, type } of modules) if (type >= MODULE_TYPE.system) counts.set(path, (counts.get(path) ?? 0) + 1);
  const onVolume = new Set(files.map((entry) => visible(entry.path)));
  const [best] = [...counts].filter(([path, count]) => count > 1 && onVolume.has(path)).sort((a, b) => b[1] - a[1]);
  return best && { file: best[0], how: `it holds the most system modules, ${best[1]}` };
}
