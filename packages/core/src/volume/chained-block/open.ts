import { decodeText, hex, plainText } from "../../bytes/index.ts";
import { BugError } from "../../errors/index.ts";
import type { Condition, Content, Damage, Entry, Volume } from "../types.ts";
import type { FileData } from "./chains.ts";
import { TYPE, TYPE_BITS } from "./directory.ts";
import { byteAt, type Disk, type LastByte, openDisk } from "./disk.ts";
import { BLOCK, DATA, type LayoutName, layoutOf, where } from "./layout.ts";
import { NAME_LENGTH, shownName, trimmed } from "./names.ts";
import type { RecordFile } from "./record-file.ts";
import { type Report, startReport, worse } from "./report.ts";
import { isRecordFile, reached, type Survey, sizeOf, survey as surveyDisk } from "./survey.ts";
import { ownersOf, tellBlocks } from "./tell-blocks.ts";
import { tellFiles } from "./tell-files.ts";

export interface ChainedBlockOptions {
  layout: LayoutName;
  /** Whether one error byte a block follows the blocks. */
  errorBytes: boolean;
  /** How the byte after a last block's zero is read; without it the volume's own files settle it. */
  lastByte?: LastByte;
}

export function open(image: Uint8Array, options: ChainedBlockOptions): Volume {
  const layout = layoutOf(options.layout);
  const disk = openDisk(image, layout, options.errorBytes);
  const report = startReport();
  checkHeader(disk, report);
  const survey = surveyDisk(disk, options.lastByte, report);
  const conditions = tellFiles(survey, report);
  const owners = ownersOf(survey);
  tellBlocks(survey, owners, report);
  const entries = survey.files.map((file, i) => entryOf(survey, file, conditions[i]!));
  const files = new Map<Entry, FileData>(entries.map((entry, i) => [entry, survey.files[i]!]));
  const { headerBlock } = layout;
  return {
    kind: "chained-block",
    format: layout.format,
    label: shownLabel(headerField(disk, layout.nameAt, NAME_LENGTH)),
    geometry: layout.geometry,
    freeBlocks: survey.map.free,
    facts: [
      ["ID", text(headerField(disk, layout.idAt, 2))],
      [
        "Format",
        `${plainText(headerField(disk, layout.versionAt, 2))} (format byte $${hex(byteAt(disk, headerBlock, 2), 2)})`,
      ],
      ["Blocks", `${layout.blocks} of ${BLOCK} bytes, ${DATA} of them data`],
      ["Free by the bit maps", `${survey.map.freeBits} (the directory's track left out)`],
      ["Byte in a last block", survey.lastByte.how],
      ...(disk.errors ? [["Error bytes", "one a block, after the blocks"] as const] : []),
    ],
    entries,
    owners,
    damages: worstFirst(report.damages),
    condition: conditionOf(entries, report.damages),
    read(entry) {
      const file = files.get(entry);
      if (!file) throw new BugError("This entry is not of this volume.");
      return readFile(disk, file, entry.size, entry.condition);
    },
  };
}

const text = (bytes: Uint8Array): string => decodeText(bytes, "case-exchanged").replaceAll(/[\n\t\u00a0]/g, " ");

const shownLabel = (field: Uint8Array): string => {
  const name = trimmed(field);
  return name.length === 0 ? "" : shownName(name);
};

const headerField = (disk: Disk, offset: number, length: number): Uint8Array =>
  disk.image.subarray(disk.layout.headerBlock * BLOCK + offset, disk.layout.headerBlock * BLOCK + offset + length);

function checkHeader(disk: Disk, report: Report): void {
  const { layout } = disk;
  const block = layout.headerBlock;
  const mark = byteAt(disk, block, 2);
  const expected = layout.mapEntry === 4 ? layout.directoryBlock : layout.mapBlocks[0]!.block;
  if (!layout.formatBytes.includes(mark))
    report.add({
      code: "format-byte",
      condition: "whole",
      sentence: `The header's format byte is $${hex(mark, 2)} where $${hex(layout.formatBytes[0]!, 2)} belongs; a drive may refuse to write.`,
      blocks: [block],
      repair: `Set byte 2 of ${where(layout, block)} to $${hex(layout.formatBytes[0]!, 2)}.`,
    });
  if (disk.next[block] !== expected)
    report.add({
      code: "header-link",
      condition: "whole",
      sentence: `The header does not link to ${layout.mapEntry === 4 ? "the directory" : "the map"} at ${where(layout, expected)}, which was read from its fixed place.`,
      blocks: [block],
      repair: "Write the header's link anew.",
    });
}

const KINDS: Readonly<Record<number, string>> = {
  [TYPE.deleted]: "deleted",
  [TYPE.sequential]: "sequential",
  [TYPE.program]: "program",
  [TYPE.user]: "user",
  [TYPE.records]: "records",
};

function entryOf(survey: Survey, file: FileData | RecordFile, condition: Condition): Entry {
  const { disk, lastByte } = survey;
  const { slot } = file;
  const size = sizeOf(disk, file, lastByte.reading);
  const records =
    isRecordFile(file) && file.recordLength > 0
      ? { length: file.recordLength, count: Math.floor(size / file.recordLength) }
      : undefined;
  return {
    path: slot.path,
    name: slot.name,
    nameBytes: slot.nameBytes,
    type: "file",
    kind: KINDS[slot.type] ?? `type ${slot.type}`,
    size,
    blocks: file.positions.includes(-1) ? file.positions.filter((block) => block >= 0) : file.positions,
    ownBlocks: file.own,
    ...(records ? { records } : {}),
    details: detailsOf(disk, file, size),
    deleted: slot.deleted,
    condition,
  };
}

function detailsOf(disk: Disk, file: FileData | RecordFile, size: number): [string, string][] {
  const { slot } = file;
  const first = file.positions[0] ?? -1;
  const details: [string, string][] = [["Blocks stated", `${slot.statedBlocks}`]];
  if (slot.deleted) details.push(["State", "scratched; read as far as its blocks are not used by other files"]);
  else if (slot.type === TYPE.deleted) details.push(["State", "closed file of type 0, kept in the directory"]);
  else if (!slot.closed) details.push(["State", "left open"]);
  if (slot.locked) details.push(["Locked", "yes"]);
  if ((slot.typeByte & TYPE_BITS.replacing) !== 0) details.push(["Replacement", "was being written"]);
  if (slot.replacement >= 0) details.push(["Replacement begins", where(disk.layout, slot.replacement)]);
  if (slot.type === TYPE.program && reached(disk, first) && size >= 2)
    details.push(["Load address", `$${hex(byteAt(disk, first, 2) | (byteAt(disk, first, 3) << 8), 4)}`]);
  if (isRecordFile(file)) {
    const upper = file.index.marker >= 0 ? `, upper index with marker $${hex(file.index.marker, 2)}` : "";
    details.push(["Index", `${file.own.length - (upper === "" ? 0 : 1)} blocks${upper}`]);
  }
  return details;
}

function readFile(disk: Disk, file: FileData, size: number, condition: Condition): Content {
  const bytes = new Uint8Array(size);
  const missing: { offset: number; length: number }[] = [];
  file.positions.forEach((block, place) => {
    const offset = place * DATA;
    const length = Math.min(DATA, size - offset);
    if (reached(disk, block)) {
      const from = block * BLOCK + 2;
      bytes.set(disk.image.subarray(from, from + length), offset);
      return;
    }
    const before = missing[missing.length - 1];
    if (before && before.offset + before.length === offset) before.length += length;
    else missing.push({ offset, length });
  });
  return { bytes, condition, missing };
}

const worstFirst = (damages: readonly Damage[]): Damage[] => {
  const of = (condition: Condition): Damage[] => damages.filter((damage) => damage.condition === condition);
  return [...of("lost"), ...of("readable with loss"), ...of("whole")];
};

/** A volume is lost only where no file of it can be had; one lost file among others is a loss. */
function conditionOf(entries: readonly Entry[], damages: readonly Damage[]): Condition {
  const worst = damages.reduce<Condition>((so, damage) => worse(so, damage.condition), "whole");
  const live = entries.filter((entry) => !entry.deleted);
  const allLost = live.length > 0 && live.every((entry) => entry.condition === "lost");
  return worst === "lost" && !allLost ? "readable with loss" : worst;
}
