import { visible } from "../bytes/index.ts";
import type { Recording } from "../catalogue/index.ts";
import { InputError } from "../errors/index.ts";
import { type BlockMap, mapBlocks } from "../geometry/index.ts";
import type { AskState } from "../system/index.ts";
import { type Entry, OWNER } from "../volume/index.ts";
import type { Op } from "./machine.ts";
import type { ParameterId, TimedImage } from "./parameters.ts";

export const JOBS = ["boot", "format", "write", "verify", "load", "login"] as const;
export type JobKind = (typeof JOBS)[number];

/** What is to be timed; `name` is the file to load. */
export interface JobWish {
  what: JobKind;
  name?: string;
}

/** A job in the order in which the machine does it. Stretches of the line are filled in when `banner` is known. */
export interface Plan {
  ops: Op[];
  parts: string[];
  /** Parameters that the time rests on. */
  rests: readonly ParameterId[];
  notes: string[];
  /** Part before the first sector is asked for, and the one in which the banner is printed. */
  startPart?: number;
  bannerPart?: number;
}

const DRIVE: readonly ParameterId[] = ["rotation", "step", "settle", "headLoad", "motorStart", "interleave", "skew"];
const MOVED: readonly ParameterId[] = ["buffers", "busRate", "command", "handling"];

/** Reads of the recording's blocks that hold some blocks of a volume, each once in a row. */
class Reader {
  readonly ops: Op[] = [];
  readonly parts: string[] = [];
  readonly #disk: BlockMap;
  readonly #volume: BlockMap;
  outside = 0;

  constructor(recording: Recording, volume: NonNullable<TimedImage["volume"]>) {
    this.#disk = mapBlocks(recording.geometry);
    this.#volume = mapBlocks(volume.geometry);
  }

  part(name: string): number {
    return this.parts.push(name) - 1;
  }

  read(blocks: Iterable<number>, part: number): void {
    let last = -1;
    for (const block of blocks) {
      if (block >= this.#volume.blocks) {
        this.outside++;
        continue;
      }
      const from = this.#volume.offset(block);
      const to = from + this.#volume.size(block) - 1;
      if (to >= this.#disk.bytes) {
        this.outside++;
        continue;
      }
      for (let each = this.#disk.blockAt(from); each <= this.#disk.blockAt(to); each++) {
        if (each === last) continue;
        last = each;
        this.ops.push({ kind: "read", ...this.#disk.place(each), bytes: this.#disk.size(each), part });
      }
    }
  }
}

const liveFiles = (image: TimedImage): Entry[] => (image.volume?.entries ?? []).filter((entry) => !entry.deleted);

/** The way to a file: each folder from the root down is read, then its bookkeeping and what it holds. */
function readFile(reader: Reader, entries: readonly Entry[], entry: Entry, label: string): void {
  const part = reader.part(label);
  const names = entry.path.split("/");
  for (let depth = 1; depth < names.length; depth++) {
    const folder = entries.find((each) => each.type === "folder" && each.path === names.slice(0, depth).join("/"));
    if (folder) reader.read([...folder.ownBlocks, ...folder.blocks], part);
  }
  reader.read([...entry.ownBlocks, ...entry.blocks], part);
}

/** Blocks that are nobody's file: identification, map, directory, reserved tracks. */
function systemBlocks(image: TimedImage): number[] {
  const blocks: number[] = [];
  image.volume?.owners.forEach((owner, block) => {
    if (owner === OWNER.system) blocks.push(block);
  });
  return blocks;
}

function entryNamed(image: TimedImage, name: string): Entry {
  const files = liveFiles(image).filter((entry) => entry.type === "file");
  const wanted = name.toLowerCase();
  const found =
    files.find((entry) => entry.path.toLowerCase() === wanted) ??
    files.find((entry) => entry.path.slice(entry.path.lastIndexOf("/") + 1).toLowerCase() === wanted) ??
    files.find(
      (entry) =>
        entry.path
          .slice(entry.path.lastIndexOf("/") + 1)
          .toLowerCase()
          .split(".")[0] === wanted,
    );
  if (found) return found;
  throw new InputError("no-such-file", `There is no file “${name}” on the image; \`rouse look\` lists what there is.`);
}

const READY: AskState = "ready";

/** A path of the system as one from the volume's root: the device before it is taken to be that volume's. */
const withoutDevice = (path: string): string => path.replace(/^\/[^/]+\//, "");

/** Boot, and on to the login where that is asked: what is loaded, in the order in which it is asked for. */
function planBoot(reader: Reader, image: TimedImage, login: boolean, name: string): void {
  const { volume, system } = image;
  const entries = liveFiles(image);
  const bootFile = system?.boot.file;
  if (!volume || !system || (bootFile === undefined && !/hold/.test(system.systemTracks ?? "")))
    throw new InputError(
      "no-boot",
      `What the image “${name}” loads at boot was not found, so its boot can't be timed.`,
    );
  reader.read(systemBlocks(image), reader.part("system's own blocks"));
  const done = new Set<string>();
  const load = (path: string, why: string): void => {
    const entry = entries.find((each) => visible(each.path) === path);
    if (!entry || done.has(path)) return;
    done.add(path);
    readFile(reader, entries, entry, `${why} ${path}`);
  };
  if (bootFile !== undefined) load(bootFile, "boot file");
  const ready = (role: string, when: string, name?: string) =>
    system.asks.filter(
      (ask) =>
        ask.role === role && ask.when === when && ask.state === READY && (name === undefined || ask.name === name),
    );
  for (const ask of system.asks)
    if (ask.when === "boot" && ask.state === READY && ask.found) load(ask.found.file, ask.role);
  for (const { path, lines } of system.scripts) {
    load(path, "script");
    for (const { asks, text } of lines) {
      for (const name of asks)
        for (const { found, role } of ready("command", "start-up", name)) if (found) load(found.file, role);
      // What a command is given by name: a text that is shown, say. The device before a path is that of this volume.
      if (asks.length > 0)
        for (const word of text.trim().split(/\s+/).slice(1))
          for (const each of [word, withoutDevice(word)])
            if (entries.some((entry) => entry.type === "file" && visible(entry.path) === each))
              load(each, "given by name:");
    }
  }
  if (!login) return;
  for (const { path } of system.accounts) load(path, "accounts");
  // One person logs in: the folders of the account are opened, and its program is loaded.
  const account = system.accounts[0]?.accounts[0];
  if (!account) return;
  for (const folder of [account.commandFolder, account.dataFolder]) load(withoutDevice(folder), "folder");
  const program = account.program.split(/[\s;&!<>#]/)[0]!;
  for (const { found, role } of ready("login program", "login", program.slice(program.lastIndexOf("/") + 1)))
    if (found) load(found.file, role);
}

/** The operations of a job. Throws an `InputError` where the image doesn't have what is asked for. */
export function planJob(recording: Recording, image: TimedImage, wish: JobWish): Plan {
  const disk = mapBlocks(recording.geometry);
  if (wish.what === "format") {
    const ops: Op[] = [];
    for (let track = 0; track < recording.geometry.tracks; track++)
      for (let side = 0; side < recording.geometry.sides; side++)
        ops.push({ kind: "format", track, side: side as 0 | 1, part: 0 });
    return {
      ops,
      parts: ["format every track"],
      rests: DRIVE,
      notes: ["One turn a track and side, from index to index."],
    };
  }
  if (wish.what === "write" || wish.what === "verify") {
    const kind = wish.what === "write" ? "write" : "read";
    const order = Array.from({ length: disk.blocks }, (_, block) => ({ block, ...disk.place(block) }));
    // Both sides of a track before the head moves on, whatever the order of the image.
    order.sort((a, b) => a.track - b.track || a.side - b.side || a.sector - b.sector);
    return {
      ops: order.map(({ block, track, side, sector }) => ({
        kind,
        track,
        side,
        sector,
        bytes: disk.size(block),
        part: 0,
      })),
      parts: [wish.what === "write" ? "write every block" : "read every block back"],
      rests: [...DRIVE, ...MOVED],
      notes: ["Track by track, both sides of one before the next."],
    };
  }
  if (!image.volume) throw new InputError("no-volume", `No volume was recognised on the image “${image.name}”.`);
  const reader = new Reader(recording, image.volume);
  let startPart: number | undefined;
  let bannerPart: number | undefined;
  if (wish.what === "load") {
    if (wish.name === undefined) throw new InputError("no-name", "Say which file is to be loaded: load NAME.");
    const entries = liveFiles(image);
    readFile(reader, entries, entryNamed(image, wish.name), "load");
  } else {
    startPart = reader.part("from reset to the first sector");
    planBoot(reader, image, wish.what === "login", image.name);
    if (wish.what === "login") bannerPart = reader.part("banner up to the prompt");
  }
  const notes = reader.outside > 0 ? [`${reader.outside} blocks lie outside this recording and are left out.`] : [];
  return {
    ops: reader.ops,
    parts: reader.parts,
    rests: [
      ...DRIVE,
      ...MOVED,
      ...(startPart === undefined ? [] : (["startUp"] as const)),
      ...(bannerPart === undefined ? [] : (["lineRate", "banner"] as const)),
    ],
    notes,
    ...(startPart === undefined ? {} : { startPart }),
    ...(bannerPart === undefined ? {} : { bannerPart }),
  };
}
