import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { screensOf } from "./unterm.ts";

/** 1,500 were tried: all agree. */
const STREAMS = 100;
let folder: string;

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), "rouse-unterm-"));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const file = (bytes: Uint8Array): string => {
  const path = join(folder, "stream");
  writeFileSync(path, bytes);
  return path;
};
const seeds = Array.from({ length: STREAMS }, (_, seed) => seed);

// Debian libvterm-bin 0.1.4-1; what is left out of the streams is listed in unterm.ts with the clause.
describe("the screen model against unterm", () => {
  it(`has the same characters in the same places after ${STREAMS} random streams`, () => {
    const differ = seeds.flatMap((seed) => {
      const { ours, theirs } = screensOf(seed, file);
      return JSON.stringify(ours) === JSON.stringify(theirs) ? [] : [{ seed, ours, theirs }];
    });
    expect(differ).toEqual([]);
  });
});
