import type { Condition } from "../types.ts";
import type { Ending, FileData } from "./chains.ts";
import { TYPE } from "./directory.ts";
import { suspect } from "./disk.ts";
import { where } from "./layout.ts";
import { type RecordFile, recordsAt } from "./record-file.ts";
import { counted, inWords, type Report, worse } from "./report.ts";
import { isRecordFile, reached, type Survey, sizeOf } from "./survey.ts";

/** How much of each file can be had, in the order of the survey's files, and what is wrong with each. */
export function tellFiles(survey: Survey, report: Report): Condition[] {
  const { files, disk } = survey;
  const conditions = files.map((): Condition => "whole");
  const note = (i: number, condition: Condition): void => {
    conditions[i] = worse(conditions[i]!, condition);
  };
  const crossed = new Set(survey.crossings.flatMap(({ first, later }) => [first, later]));
  files.forEach((file, i) => {
    const unreached = file.positions.filter((block) => !reached(disk, block)).length;
    const broken = file.ending !== "end";
    if (unreached > 0 || broken) note(i, unreached === file.positions.length ? "lost" : "readable with loss");
    if (disk.errors && file.positions.some((block) => block >= 0 && suspect(disk.errors![block])))
      note(i, "readable with loss");
    if (file.slot.deleted) return;
    if (file.slot.type > TYPE.records) tellUnknownType(file, report);
    if (!file.slot.closed) {
      note(i, "readable with loss");
      tellOpen(file, report);
    }
    if (isRecordFile(file)) tellRecords(survey, file, conditions[i]!, report, (condition) => note(i, condition));
    if (broken) tellBroken(survey, file, conditions[i]!, report);
    else if (file.slot.closed) tellCount(file, crossed.has(i), report);
  });
  tellCrossings(survey, report, note);
  tellSameNames(survey, report);
  return conditions;
}

const HOW_BROKEN: Readonly<Record<Exclude<Ending, "end">, (place: string) => readonly [code: string, words: string]>> =
  {
    "bad-link": (place) => ["bad-link", `${place} links to a place that the disk does not have`],
    loop: (place) => ["chain-loop", `${place} links back to a block of the same file`],
    unreadable: (place) => ["unreadable-block", `${place} cannot be read, nor where it links to`],
    system: (place) => ["chain-into-system", `${place} links to a block of the directory, header or map`],
    claimed: (place) => ["chain-into-file", `${place} links to a block of another file`],
  };

function tellBroken(survey: Survey, file: FileData, condition: Condition, report: Report): void {
  const { disk } = survey;
  const { path, statedBlocks } = file.slot;
  const known = file.positions.filter((block) => block >= 0);
  const last = known[known.length - 1];
  const have = known.filter((block) => reached(disk, block)).length;
  if (last === undefined) {
    report.add({
      code: "bad-first-block",
      condition: "lost",
      sentence: `The directory gives “${path}” no first block that the disk has; nothing of it can be read.`,
      files: [path],
      repair: "Search the lost blocks for its data, or take the entry out.",
    });
    return;
  }
  const [code, words] = HOW_BROKEN[file.ending as Exclude<Ending, "end">](`the block at ${where(disk.layout, last)}`);
  const stated = statedBlocks > 0 ? ` of the ${counted(statedBlocks, "block")} that the directory states` : "";
  report.add({
    code,
    condition,
    sentence: `The chain of “${path}” breaks off: ${words}. ${counted(have, "data block")}${stated} can be read.`,
    blocks: [last],
    files: [path],
    repair: "End the chain at its last good block, and search the lost blocks for the rest.",
  });
}

function tellUnknownType(file: FileData, report: Report): void {
  const { path, type } = file.slot;
  report.add({
    code: "unknown-type",
    condition: "whole",
    sentence: `“${path}” has file type ${type}, which this kind of volume does not have; it was read as sequential.`,
    files: [path],
    repair: "Set the type to what the file's contents show it to be.",
  });
}

function tellOpen(file: FileData, report: Report): void {
  const { path } = file.slot;
  report.add({
    code: "left-open",
    condition: "readable with loss",
    sentence: `“${path}” was never closed: what was written last may be missing, and its chain may run into old data.`,
    blocks: file.positions.filter((block) => block >= 0).slice(-1),
    files: [path],
    repair:
      "Read what there is, then mark the file closed and set its block count, or take it out of the map and the directory.",
  });
}

const blocksFound = (file: FileData): number => file.positions.length + file.own.length;

function tellCount(file: FileData, crossed: boolean, report: Report): void {
  const { path, statedBlocks, type } = file.slot;
  const found = blocksFound(file);
  if (statedBlocks === found) return;
  const index = type === TYPE.records ? ", its index included" : "";
  report.add({
    code: "block-count",
    condition: "whole",
    sentence: `The directory states ${counted(statedBlocks, "block")} for “${path}”; its chain has ${found}${index}.`,
    files: [path],
    repair: crossed ? "Settle first which blocks it shares with another file." : `Set the count to ${found}.`,
  });
}

function tellRecords(
  survey: Survey,
  file: RecordFile,
  soFar: Condition,
  report: Report,
  note: (condition: Condition) => void,
): void {
  const { disk, lastByte } = survey;
  const { path, recordLength } = file.slot;
  const files = [path];
  for (const { code, sentence, blocks, repair } of file.index.problems)
    report.add({
      code,
      condition: "whole",
      sentence: `In the record file “${path}” ${sentence}.`,
      blocks,
      files,
      repair,
    });
  tellLength(file, report, note);
  const size = sizeOf(disk, file, lastByte.reading);
  const length = file.recordLength;
  const count = length > 0 ? Math.floor(size / length) : 0;
  const records = (places: readonly number[]): string =>
    length > 0 ? recordsInWords(recordsAt(places, length, count)) : "all records";
  const blocksAt = (places: readonly number[]): number[] =>
    places.map((place) => file.positions[place]!).filter((block) => block >= 0);
  if (file.disagree.length > 0) {
    note("readable with loss");
    report.add({
      code: "index-chain",
      condition: "readable with loss",
      sentence: `The index and the data chain of “${path}” name different blocks for ${records(file.disagree)}; the likelier was read.`,
      blocks: blocksAt(file.disagree),
      files,
      repair: "Look at the records named, choose the right blocks, and write the index or the chain anew.",
    });
  }
  if (file.chainBroken.length > 0)
    report.add({
      code: "records-chain",
      condition: "whole",
      sentence: `The data chain of “${path}” breaks off ${counted(file.chainBroken.length, "time")}; the index still gives the way to ${records(file.chainBroken)}.`,
      blocks: blocksAt(file.chainBroken),
      files,
      repair: "Link the data blocks anew in the order of the index.",
    });
  if (file.notIndexed.length > 0)
    report.add({
      code: "not-indexed",
      condition: "whole",
      sentence: `The index of “${path}” names no good block for ${records(file.notIndexed)}; the data chain still gives the way to them, a drive would not.`,
      blocks: blocksAt(file.notIndexed),
      files,
      repair: "Enter the blocks of the chain in the index.",
    });
  const missing = file.positions.flatMap((block, place) => (reached(disk, block) ? [] : [place]));
  if (missing.length > 0)
    report.add({
      code: "lost-records",
      condition: soFar,
      sentence: `Of “${path}” ${records(missing)} cannot be read, wholly or in part.`,
      blocks: blocksAt(missing),
      files,
      repair: "Read the disk again, or write the records anew from another copy.",
    });
  const rest = length > 0 ? size % length : 0;
  if (rest > 0 && file.ending === "end" && file.slot.closed)
    report.add({
      code: "uneven-records",
      condition: "whole",
      sentence: `The data of “${path}” end ${counted(rest, "byte")} after record ${count}, which is not a whole record of ${length}.`,
      files,
      repair: "Check the record length, or cut the data after the last whole record.",
    });
  if (recordLength === 0 && length === 0) note("readable with loss");
}

function tellLength(file: RecordFile, report: Report, note: (condition: Condition) => void): void {
  const { path, recordLength: stated } = file.slot;
  const others = file.index.lengths.filter((length) => length !== stated);
  if (others.length === 0 && file.recordLength === stated && stated > 0) return;
  if (file.recordLength === 0) note("readable with loss");
  const used = file.recordLength === 0 ? "no length that can be was found" : `${file.recordLength} was used`;
  report.add({
    code: "record-length",
    condition: file.recordLength === 0 ? "readable with loss" : "whole",
    sentence: `The directory gives “${path}” the record length ${stated}, ${
      others.length > 0
        ? `${counted(others.length, "index block")} ${others.length === 1 ? "gives" : "give"} ${others[0]}`
        : "which cannot be"
    }; ${used}.`,
    files: [path],
    repair: "Set one record length in the directory and in every index block.",
  });
}

/** Whether stretches of records are just one record. */
const single = (records: readonly (readonly [number, number])[]): boolean =>
  records.length === 1 && records[0]![0] === records[0]![1];

const recordsInWords = (records: readonly (readonly [number, number])[]): string =>
  records.length === 0 ? "no whole record" : `${single(records) ? "record" : "records"} ${inWords(records)}`;

function tellCrossings(survey: Survey, report: Report, note: (i: number, condition: Condition) => void): void {
  const { files, disk } = survey;
  for (const { first, later, blocks } of survey.crossings) {
    const one = files[first]!;
    const other = files[later]!;
    note(first, "readable with loss");
    note(later, "readable with loss");
    const doubts = doubt(survey, one, blocks) + doubt(survey, other, blocks);
    report.add({
      code: "crossed-chain",
      condition: "readable with loss",
      sentence: `“${one.slot.path}” and “${other.slot.path}” share ${counted(blocks.length, "block")}, from ${where(disk.layout, blocks[0]!)} on; at most one of them is right there.${likelier(one, other)}${doubts}`,
      blocks,
      files: [one.slot.path, other.slot.path],
      repair: "Copy both files off the volume, see which one the shared blocks belong to, and write both anew.",
    });
  }
}

/** Which of two crossed files the blocks belong to, where only one has as many blocks as the directory states. */
function likelier(one: FileData, other: FileData): string {
  const fits = (file: FileData): boolean => file.ending === "end" && blocksFound(file) === file.slot.statedBlocks;
  if (fits(one) === fits(other)) return "";
  const [right, wrong] = fits(one) ? [one, other] : [other, one];
  return ` They are likelier those of “${right.slot.path}”: its chain has as many blocks as the directory states, that of “${wrong.slot.path}” has not.`;
}

/** The records of a file that lie in shared blocks, as a further sentence; nothing for plain files. */
function doubt(survey: Survey, file: FileData | RecordFile, blocks: readonly number[]): string {
  if (!isRecordFile(file) || file.recordLength === 0) return "";
  const { disk, walk, lastByte } = survey;
  const mark = ++walk.mark;
  for (const block of blocks) walk.marks[block] = mark;
  const places: number[] = [];
  file.positions.forEach((block, place) => {
    if (block >= 0 && walk.marks[block] === mark) places.push(place);
  });
  const count = Math.floor(sizeOf(disk, file, lastByte.reading) / file.recordLength);
  const records = recordsAt(places, file.recordLength, count);
  return records.length === 0
    ? ""
    : ` Of “${file.slot.path}” ${recordsInWords(records)} ${single(records) ? "is" : "are"} in doubt.`;
}

function tellSameNames(survey: Survey, report: Report): void {
  for (const { slot } of survey.files)
    if (!slot.deleted && slot.path !== slot.name && slot.closed)
      report.add({
        code: "same-name",
        condition: "whole",
        sentence: `The name “${slot.name}” is in the directory more than once; by name a drive reaches only the first. The other is shown as “${slot.path}”.`,
        files: [slot.path],
        repair: "Rename one of them.",
      });
}
