import { OWNER } from "../types.ts";
import { LINK, readable, sectorError, suspect } from "./disk.ts";
import { BLOCK } from "./layout.ts";
import { STATE } from "./map.ts";
import { counted, type Report } from "./report.ts";
import type { Survey } from "./survey.ts";

/** For each block of the image its owner; blocks of crossed chains are `clash`, those of scratched files stay free. */
export function ownersOf(survey: Survey): Int32Array {
  const { disk, map, walk } = survey;
  const owners = Int32Array.from(walk.claims);
  for (let block = 0; block < owners.length; block++) {
    if (walk.system[block] === 1) owners[block] = OWNER.system;
    else if (owners[block]! >= 0) continue;
    else if (!readable(disk, block) || suspect(disk.errors?.[block])) owners[block] = OWNER.bad;
    else owners[block] = map.states[block] === STATE.used ? OWNER.lost : OWNER.free;
  }
  for (const { blocks } of survey.crossings) for (const block of blocks) owners[block] = OWNER.clash;
  return owners;
}

/** Tells where the map and the chains disagree, and which blocks the image does not hold or holds with an error. */
export function tellBlocks(survey: Survey, owners: Int32Array, report: Report): void {
  const { map, walk, files } = survey;
  const usedButFree: number[] = [];
  const systemFree: number[] = [];
  const lost: number[] = [];
  for (let block = 0; block < owners.length; block++) {
    const owned = walk.claims[block]! >= 0;
    if (map.states[block] === STATE.free) {
      if (walk.system[block] === 1) systemFree.push(block);
      else if (owned) usedButFree.push(block);
    } else if (owners[block] === OWNER.lost) lost.push(block);
  }
  const pathsOf = (blocks: readonly number[]): string[] => {
    const found = new Set<number>();
    for (const block of blocks) if (walk.claims[block]! >= 0) found.add(walk.claims[block]!);
    return [...found].map((i) => files[i]!.slot.path);
  };
  if (usedButFree.length > 0) {
    const paths = pathsOf(usedButFree);
    report.add({
      code: "used-but-free",
      condition: "whole",
      sentence: `${counted(usedButFree.length, "block")} of ${counted(paths.length, "file")} ${usedButFree.length === 1 ? "is" : "are"} free in the map: the next file written would overwrite ${usedButFree.length === 1 ? "it" : "them"}.`,
      blocks: usedButFree,
      files: paths,
      repair: "Mark them as in use before anything is written.",
    });
  }
  if (systemFree.length > 0)
    report.add({
      code: "system-free",
      condition: "whole",
      sentence: `${counted(systemFree.length, "block")} of the header, the map or the directory ${systemFree.length === 1 ? "is" : "are"} free in the map.`,
      blocks: systemFree,
      repair: "Mark them as in use before anything is written.",
    });
  if (lost.length > 0) tellLost(survey, lost, report);
  tellAbsent(survey, pathsOf, report);
  tellSectorErrors(survey, pathsOf, report);
}

function tellLost(survey: Survey, lost: readonly number[], report: Report): void {
  const { next } = survey.disk;
  const isLost = new Uint8Array(next.length);
  for (const block of lost) isLost[block] = 1;
  const led = new Uint8Array(next.length);
  for (const block of lost) if (next[block]! >= 0) led[next[block]!] = 1;
  const heads = lost.filter((block) => led[block] === 0).length;
  const chains = heads > 0 ? ` They begin ${counted(heads, "chain")}.` : "";
  report.add({
    code: "lost-block",
    condition: "whole",
    sentence: `${counted(lost.length, "block")} ${lost.length === 1 ? "is" : "are"} in use in the map, but no file leads there.${chains}`,
    blocks: lost,
    repair: "Look whether they hold the rest of a broken file or were reserved on purpose; if neither, free them.",
  });
}

function tellAbsent(survey: Survey, pathsOf: (blocks: readonly number[]) => string[], report: Report): void {
  const { present, layout, extra } = survey.disk;
  if (present < layout.blocks) {
    const absent = Array.from({ length: layout.blocks - present }, (_, i) => present + i);
    const paths = pathsOf(absent);
    report.add({
      code: "short-image",
      condition: paths.length > 0 ? "readable with loss" : "whole",
      sentence: `The image ends after ${counted(present, "block")} of ${layout.blocks}; ${
        paths.length > 0
          ? `${counted(paths.length, "file")} had blocks after that`
          : "no file is known to reach further"
      }.`,
      blocks: absent,
      files: paths,
      repair: "Read the disk again; the image is not whole.",
    });
  }
  if (extra > 0)
    report.add({
      code: "extra-bytes",
      condition: "whole",
      sentence: `The image has ${counted(extra, "byte")} after the last block of the disk; they were left alone.`,
      repair: `Cut the image to ${layout.blocks * BLOCK} bytes, or find out what they are.`,
    });
}

function tellSectorErrors(survey: Survey, pathsOf: (blocks: readonly number[]) => string[], report: Report): void {
  const { errors, next } = survey.disk;
  if (!errors) return;
  const byCode = new Map<number, number[]>();
  errors.forEach((code, block) => {
    if (code <= 1) return;
    const blocks = byCode.get(code);
    if (blocks) blocks.push(block);
    else byCode.set(code, [block]);
  });
  for (const [code, blocks] of [...byCode].sort(([a], [b]) => a - b)) {
    const paths = pathsOf(blocks);
    const unread = blocks.filter((block) => next[block] === LINK.unreadable).length;
    report.add({
      code: "sector-error",
      condition: paths.length > 0 && suspect(code) ? "readable with loss" : "whole",
      sentence: `The image says of ${counted(blocks.length, "block")}: ${sectorError(code).says}.${
        unread > 0 ? ` ${unread} of them hold nothing but a filling.` : ""
      }`,
      blocks,
      files: paths,
      repair: "Read these sectors again from the disk.",
    });
  }
}
