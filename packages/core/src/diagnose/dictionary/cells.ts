import type { MemoryMap } from "../../memory/index.ts";
import type { CellFault } from "../fault/cells.ts";
import { joinedAddresses, single } from "../fault/classes.ts";
import type { MachineFault } from "../fault/machine.ts";
import type { Finding, Test, TestProgram } from "../types.ts";
import type { Predictor } from "./predict.ts";
import { type ChipArray, chipSuspect } from "./suspects.ts";
import type { Candidate, Suspect } from "./types.ts";

/** A byte that was reported, and its bits that were wrong at any time. */
export interface WrongByte {
  part: string;
  /** Word of the part. */
  word: number;
  bits: number;
}

/** More bytes than this are no fault of single cells. */
const MOST_BYTES = 6;

/** The bytes that marches reported, as the good machine reaches them; undefined where they are many. */
export function wrongBytes(
  predictor: Predictor,
  program: TestProgram,
  findings: readonly Finding[],
): WrongByte[] | undefined {
  const tests = new Map<string, Test>(program.tests.map((test) => [test.letter, test]));
  const found = new Map<number, WrongByte>();
  for (const { test: letter, address, view, wanted, got } of findings) {
    const test = tests.get(letter);
    if (!test?.march || address === undefined || wanted === undefined || got === undefined) continue;
    const at = predictor.wordAt(test, address, view);
    const part = at === undefined ? undefined : predictor.partAt(at);
    if (at === undefined || part === undefined) continue;
    const known = found.get(at) ?? { part, word: at - predictor.seatOf(part), bits: 0 };
    known.bits |= wanted ^ got;
    found.set(at, known);
    if (found.size > MOST_BYTES) return undefined;
  }
  return [...found.values()];
}

/** Cells of one chip that would explain the wrong bytes: each alone, and each two of them. */
export function cellCandidates(map: MemoryMap, arrays: readonly ChipArray[], wrong: readonly WrongByte[]): Candidate[] {
  const found: Candidate[] = [];
  for (const { part, word, bits } of wrong) {
    const array = arrays.find((each) => each.part.name === part);
    if (!array) continue;
    for (const { suspect, mask } of chipsOf(array, word)) {
      if (!(bits & mask)) continue;
      for (const bit of bitsOf(bits & mask)) {
        const cell = word * 8 + bit;
        for (const kind of ["stuck", "transition", "leak"] as const)
          for (const fault of single(kind, cell, 1)) found.push(candidate(suspect, "a bad cell", part, fault));
      }
      for (const floats of [0, 1] as const)
        found.push(
          candidate(suspect, "a cell that nothing selects", part, {
            kind: "decoder",
            routes: [{ address: word, words: [] }],
            bits: mask,
            wired: "and",
            floats,
          }),
        );
      for (const other of wrong)
        if (other.part === part && other.word !== word && other.word < map.part(part).bytes && other.bits & mask)
          for (const fault of joinedAddresses(word, other.word, mask))
            found.push(candidate(suspect, "two cells that its decoder mixes up", part, fault));
    }
  }
  return found;
}

const candidate = (suspect: Suspect, how: string, part: string, fault: CellFault): Candidate => {
  const on: MachineFault = { on: "cells", part, fault };
  return { suspect, how, fault: on };
};

/** Chips of the row that holds a word, each with the bits that it carries. */
export function chipsOf(array: ChipArray, word: number): { suspect: Suspect; mask: number }[] {
  const row = Math.floor(word / array.words);
  return Array.from({ length: array.columns }, (_, column) => {
    const suspect = chipSuspect(array, row, column);
    return { suspect, mask: suspect.bits! };
  });
}

const bitsOf = (mask: number): number[] => [0, 1, 2, 3, 4, 5, 6, 7].filter((bit) => mask & (1 << bit));
