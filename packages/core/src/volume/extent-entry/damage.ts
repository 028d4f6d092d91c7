import { type Condition, type Damage, MOST_BLOCKS_TOLD, MOST_FILES_TOLD } from "../types.ts";
import { type Directory, type Extent, type Found, filled, imageSector, recordsOfEntry } from "./files.ts";
import type { Layout } from "./layout.ts";

const plural = (number: number, one: string, many = `${one}s`): string => `${number} ${number === 1 ? one : many}`;

/** Collects what is wrong with a volume, and says it. Codes are listed in `docs/volumes/extent-entry.md`. */
export class DamageList {
  readonly list: Damage[] = [];
  readonly #image: Uint8Array;
  readonly #layout: Layout;
  readonly #files: readonly Found[];
  readonly #paths: readonly string[];

  constructor(image: Uint8Array, layout: Layout, files: readonly Found[], paths: readonly string[]) {
    this.#image = image;
    this.#layout = layout;
    this.#files = files;
    this.#paths = paths;
  }

  #tell(
    code: string,
    condition: Condition,
    sentence: string,
    repair: string,
    blocks: readonly number[] = [],
    files: readonly number[] = [],
  ): void {
    this.list.push({
      code,
      condition,
      sentence,
      blocks: blocks.slice(0, MOST_BLOCKS_TOLD),
      blockCount: blocks.length,
      files: files.slice(0, MOST_FILES_TOLD).map((file) => this.#paths[file]!),
      repair,
    });
  }

  /** What is wrong with the disk as a whole. */
  ofDisk(faults: readonly string[], directory: Directory): void {
    const layout = this.#layout;
    for (const fault of faults)
      this.#tell("parameter-block", "whole", `The parameter block contradicts itself. ${fault}`, "Correct the block.");
    if (layout.blocks <= layout.parameters.dsm)
      this.#tell(
        "parameter-block",
        "whole",
        `The parameter block names blocks up to ${layout.parameters.dsm}, but this disk ends with block ${layout.blocks - 1}.`,
        "Correct the block.",
      );
    // Missing sectors at the end, where the image is shorter than its disk.
    const present = Math.floor((this.#image.length - layout.startByte) / layout.sectorSize) + layout.startBlock;
    if (this.#image.length < layout.imageBytes) {
      const blocks: number[] = [];
      for (let block = Math.max(0, present); block < layout.imageBlocks; block++) blocks.push(block);
      this.#tell(
        "short-image",
        "whole",
        `The image has ${this.#image.length} bytes, its disk ${layout.imageBytes}: the last ${plural(blocks.length, "sector")} are not in it.`,
        "Read the disk again to its last track; files that lie there are told on their own.",
        blocks,
      );
    }
    const empty = directory.found.length === 0 && directory.neverUsed === 0;
    if (directory.unreadable > 0)
      this.#tell(
        "unreadable-entry",
        empty ? "lost" : "readable with loss",
        `${plural(directory.unreadable, "directory entry is", "directory entries are")} neither a file, a deleted file nor unused.`,
        "Mark such entries unused; a file whose entry it was can only be found by its content.",
        directory.unreadableSectors,
      );
    if (directory.missing > 0)
      this.#tell(
        "directory-cut",
        empty ? "lost" : "readable with loss",
        `The image ends before ${plural(directory.missing, "directory entry", "directory entries")}.`,
        "Read the disk again to its last track.",
      );
  }

  /** A block that two files, or two places of one, both claim. */
  clash(a: number, b: number, sectors: readonly number[]): void {
    const who = a === b ? `${this.#paths[a]} twice` : `${this.#paths[a]} and ${this.#paths[b]}`;
    const blocks = sectors.length / this.#layout.sectorsPerBlock;
    this.#tell(
      "block-claimed-twice",
      "readable with loss",
      `${plural(blocks, "block is", "blocks are")} claimed by ${who}: the content is right for one at most.`,
      "Copy the files, see which content fits, and delete the other; never write to the disk before that.",
      sectors,
      a === b ? [a] : [a, b],
    );
  }

  /** What is wrong with one live file. */
  ofFile(index: number, sum: { good: number; holes: number }, absent: number, nameFault: string | null): void {
    const file = this.#files[index]!;
    const path = this.#paths[index]!;
    const layout = this.#layout;
    const loss: Condition = sum.good + sum.holes === 0 ? "lost" : "readable with loss";
    const isShort = this.#image.length < layout.imageBytes;
    const past: number[] = [];
    const inDirectory: number[] = [];
    const cut: number[] = [];
    const short: Extent[] = [];
    const long: Extent[] = [];
    const over: Extent[] = [];
    for (const extent of file.extents) {
      const most = recordsOfEntry(layout);
      const need = Math.ceil(extent.content / layout.recordsPerBlock);
      const last = filled(extent);
      extent.pointers.forEach((block, i) => {
        if (block === 0) return;
        if (block >= layout.blocks) past.push(block);
        else if (block < layout.directoryBlocks) inDirectory.push(block);
        else if (i < need && isShort) cut.push(...this.#beyondEnd(block));
      });
      if (extent.records > most) over.push(extent);
      if (last < need) short.push(extent);
      if (last > Math.ceil(extent.records / layout.recordsPerBlock)) long.push(extent);
    }
    const entrySectors = (extents: readonly Extent[]): number[] => [...new Set(extents.map((each) => each.sector))];
    const all = entrySectors(file.extents);
    if (past.length > 0)
      this.#tell(
        "pointer-past-end",
        loss,
        `${path} points to block ${past.slice(0, 3).join(", ")}${past.length > 3 ? " and more" : ""}; the last block of the disk is ${layout.blocks - 1}.`,
        "Copy what can be read, then delete the file. If most files do this, the parameter block is the wrong one.",
        all,
        [index],
      );
    if (inDirectory.length > 0)
      this.#tell(
        "pointer-in-directory",
        loss,
        `${path} claims block ${[...new Set(inDirectory)].join(", ")}, which ${inDirectory.length === 1 ? "is" : "are"} the directory's.`,
        "Delete the file before anything writes to it: that would overwrite the directory.",
        inDirectory.flatMap((block) => this.#sectors(block)),
        [index],
      );
    if (cut.length > 0)
      this.#tell(
        "block-not-in-image",
        loss,
        `${plural(cut.length, "sector")} of ${path} ${cut.length === 1 ? "lies" : "lie"} beyond the end of the image.`,
        "Read the disk again to its last track.",
        cut,
        [index],
      );
    if (short.length > 0)
      this.#tell(
        "records-without-block",
        loss,
        `${path} counts more records than its block numbers hold.`,
        "Set the record count to what the blocks hold.",
        entrySectors(short),
        [index],
      );
    if (long.length > 0)
      this.#tell(
        "block-without-records",
        "whole",
        `${path} has more blocks than its record count needs: it was not closed, or keeps blocks in advance.`,
        "Look at the blocks behind the end; raise the record count if the text goes on there.",
        entrySectors(long),
        [index],
      );
    if (over.length > 0)
      this.#tell(
        "record-count",
        "readable with loss",
        `${path} has a record count above the 128 of a full extent.`,
        "Set the count to 128 at most.",
        entrySectors(over),
        [index],
      );
    if (absent > 0)
      this.#tell(
        "missing-extent",
        "readable with loss",
        `${plural(absent, "directory entry", "directory entries")} of ${path} ${absent === 1 ? "is" : "are"} missing before its last one: never written (a random-access file), or lost.`,
        "Look among the deleted entries for the same name; if none fits, the program that wrote the file knows whether it has gaps.",
        all,
        [index],
      );
    if (file.doubles.length > 0) this.#doubles(index, file);
    if (file.far.length > 0)
      this.#tell(
        "extent-number",
        loss,
        `${path} has an entry for a place further into the file than four times this disk.`,
        "Delete that entry; its extent number is damaged.",
        entrySectors(file.far),
        [index],
      );
    if (nameFault)
      this.#tell(
        "illegal-name",
        "whole",
        `No command can name ${path}: ${nameFault}.`,
        "Rename the file with a program that takes the bytes as they are.",
        all.slice(0, 1),
        [index],
      );
  }

  #doubles(index: number, file: Found): void {
    const same = file.doubles.every((double) => {
      const first = file.extents.find((each) => each.index === double.index);
      return first?.records === double.records && first.pointers.every((block, i) => block === double.pointers[i]);
    });
    this.#tell(
      "duplicate-extent",
      same ? "whole" : "readable with loss",
      `${this.#paths[index]} has ${plural(file.doubles.length, "entry", "entries")} for a stretch that an earlier entry covers${same ? ", with the same blocks" : "; the earlier one is read"}.`,
      same ? "Mark the second entry unused." : "Compare both contents, then mark the wrong entry unused.",
      [...new Set(file.doubles.map((each) => each.sector))],
      [index],
    );
  }

  #sectors(block: number): number[] {
    const { sectorsPerBlock, dataSectors } = this.#layout;
    const sectors: number[] = [];
    for (let i = block * sectorsPerBlock; i < Math.min(dataSectors, (block + 1) * sectorsPerBlock); i++)
      sectors.push(imageSector(this.#layout, i));
    return sectors;
  }

  /** Sectors of a block that the image doesn't reach. */
  #beyondEnd(block: number): number[] {
    const { startBlock, startByte, sectorSize } = this.#layout;
    return this.#sectors(block).filter(
      (sector) => startByte + (sector - startBlock + 1) * sectorSize > this.#image.length,
    );
  }
}
