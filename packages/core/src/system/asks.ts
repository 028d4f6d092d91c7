import { plainText } from "../bytes/index.ts";
import type { Configuration, ConfigurationRole } from "./configuration.ts";
import type { Descriptor } from "./descriptor.ts";
import type { FoundModule } from "./module.ts";
import type { Account, ScriptLine } from "./startup.ts";

/** Where something is said: file, bytes from its start, and the words or what they mean. */
export interface Evidence {
  file: string;
  offset: number;
  text: string;
}

/**
 * `ready`: in memory after boot, or in a file that is loaded by its name. `not loaded`: on the volume, but nothing
 * that was read loads it. `missing` means not on this volume; a ROM that was not looked at may hold it.
 */
export type AskState = "ready" | "not loaded" | "damaged" | "missing";

export interface Ask {
  name: string;
  role: ConfigurationRole | "file manager" | "driver" | "device" | "command" | "login program";
  when: "boot" | "start-up" | "login";
  /** Who asks. */
  by: readonly Evidence[];
  state: AskState;
  found?: { file: string; offset: number };
}

type Placed<T> = T & { path: string };

export interface AskSources {
  modules: readonly Placed<FoundModule>[];
  loaded: readonly Placed<FoundModule>[];
  /** Paths of all files. */
  files: readonly string[];
  /** What the file of a command is called beyond the command's name. */
  commandType: string;
  configuration: Placed<Configuration> | undefined;
  descriptors: readonly Placed<Descriptor>[];
  accounts: readonly { path: string; accounts: readonly Account[] }[];
  scripts: readonly { path: string; lines: readonly ScriptLine[] }[];
}

const same = (name: string): string => name.toLowerCase();
const baseName = (path: string): string => path.slice(path.lastIndexOf("/") + 1);

/** First of each name, the whole before the damaged. */
function byName<T>(items: readonly T[], nameOf: (item: T) => string, isWhole: (item: T) => boolean): Map<string, T> {
  const found = new Map<string, T>();
  for (const item of items) {
    const before = found.get(same(nameOf(item)));
    if (before === undefined || (!isWhole(before) && isWhole(item))) found.set(same(nameOf(item)), item);
  }
  return found;
}

const isWhole = (module: FoundModule): boolean => module.faults.length === 0;

/** Everything the system asks for by name, in the order of boot, start-up and login, with what became of it. */
export function gatherAsks(sources: AskSources): Ask[] {
  const loaded = byName(sources.loaded, (each) => each.name, isWhole);
  const anywhere = byName(sources.modules, (each) => each.name, isWhole);
  const firstOfFile = byName(
    sources.modules,
    (each) => each.path,
    () => true,
  );
  const files = byName(sources.files, baseName, () => true);

  const ofModule = (module: Placed<FoundModule>, state: AskState): Pick<Ask, "state" | "found"> => ({
    state: isWhole(module) ? state : "damaged",
    found: { file: module.path, offset: module.offset },
  });
  const find = (name: string, byFile: boolean): Pick<Ask, "state" | "found"> => {
    const inMemory = loaded.get(same(name));
    if (inMemory && (isWhole(inMemory) || !byFile)) return ofModule(inMemory, "ready");
    const file = byFile ? files.get(same(name + sources.commandType)) : undefined;
    if (file !== undefined) {
      const module = firstOfFile.get(same(file));
      return module ? ofModule(module, "ready") : { state: "ready", found: { file, offset: 0 } };
    }
    const other = inMemory ?? anywhere.get(same(name));
    return other ? ofModule(other, "not loaded") : { state: "missing" };
  };

  const asks = new Map<string, Ask & { by: Evidence[] }>();
  const ask = (name: string, role: Ask["role"], when: Ask["when"], by: Evidence): void => {
    const key = `${role} ${same(name)}`;
    const before = asks.get(key);
    if (before) before.by.push(by);
    else asks.set(key, { name, role, when, by: [by], ...find(name, role === "command" || role === "login program") });
  };

  const { configuration } = sources;
  for (const { role, name, offset } of configuration?.asks ?? [])
    ask(name.replace(/^\/([^/]*).*$/, "$1"), role, "boot", {
      file: configuration!.path,
      offset,
      text: `configuration module ${configuration!.name}: ${role} ${name}`,
    });
  for (const descriptor of sources.descriptors) {
    const by = { file: descriptor.path, offset: descriptor.offset, text: `device descriptor ${descriptor.name}` };
    if (descriptor.fileManager !== undefined) ask(descriptor.fileManager, "file manager", "boot", by);
    if (descriptor.driver !== undefined) ask(descriptor.driver, "driver", "boot", by);
  }
  for (const { path, lines } of sources.scripts)
    for (const { line, offset, text, asks: names, devices } of lines) {
      const by = { file: path, offset, text: `line ${line}: ${text.trim()}` };
      for (const name of names) ask(name, "command", "start-up", by);
      for (const device of devices) ask(device, "device", "start-up", by);
    }
  for (const { path, accounts } of sources.accounts)
    for (const { line, name, program } of accounts) {
      const first = /^[^\s;&!<>#]+/.exec(program)?.[0];
      if (first !== undefined)
        ask(baseName(first), "login program", "login", {
          file: path,
          offset: 0,
          text: `account ${name}, line ${line}`,
        });
    }
  return [...asks.values()].map((each) => ({ ...each, name: safeName(each.name) }));
}

/** Names come from bytes that were checked or made plain before; this holds the promise for any caller. */
const safeName = (name: string): string =>
  plainText(Uint8Array.from(name, (each) => Math.min(0xff, each.charCodeAt(0))));
