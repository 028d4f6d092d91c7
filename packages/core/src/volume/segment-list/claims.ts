import { type Condition, type Damage, type Entry, MOST_BLOCKS_TOLD, MOST_FILES_TOLD, OWNER } from "../types.ts";
import type { Descriptor } from "./descriptor.ts";
import { contentSectors } from "./descriptor.ts";

/** Who holds which sector, and what is wrong: the books of an opening. */

export type Draft = { -readonly [K in keyof Entry]: Entry[K] };

const RANK: Record<Condition, number> = { whole: 0, "readable with loss": 1, lost: 2 };
export const worse = (a: Condition, b: Condition): Condition => (RANK[a] >= RANK[b] ? a : b);

/** Damages told one by one; what is beyond is told as a number. */
const MOST_DAMAGES = 400;

interface Told {
  code: string;
  condition: Condition;
  sentence: string;
  blocks?: readonly number[];
  files?: readonly string[];
  repair: string;
}

export interface Log {
  add(told: Told): void;
  /** The damages, the worst first. */
  finish(): Damage[];
}

export function newLog(): Log {
  const damages: Damage[] = [];
  let beyond = 0;
  let worst: Condition = "whole";
  return {
    add({ code, condition, sentence, blocks = [], files = [], repair }) {
      if (damages.length >= MOST_DAMAGES) {
        beyond++;
        worst = worse(worst, condition);
        return;
      }
      damages.push({
        code,
        condition,
        sentence,
        blocks: blocks.slice(0, MOST_BLOCKS_TOLD),
        blockCount: blocks.length,
        files: files.slice(0, MOST_FILES_TOLD),
        repair,
      });
    },
    finish() {
      if (beyond > 0)
        damages.push({
          code: "more-damage",
          condition: worst,
          sentence: `${beyond} more damages are not told one by one.`,
          blocks: [],
          blockCount: 0,
          files: [],
          repair: "Look at the condition of each file; mend what is told first and look again.",
        });
      return damages.sort((a, b) => RANK[b.condition] - RANK[a.condition]);
    },
  };
}

/** The sectors that a descriptor's segments take in this image. */
export interface Claim {
  /** Sectors of the content and of the room to grow, as blocks of the image, in order. */
  blocks: number[];
  spare: number[];
  /** Content sectors that the image does not hold, and sectors of any use past the end of the volume. */
  absent: number;
  pastEnd: number;
  /** True where the image-wide bound cut the list. */
  cut: boolean;
}

export interface Claims {
  owners: Int32Array;
  /** Notes that `owner` (an entry's index or `OWNER.system`) holds the block; outside the image nothing happens. */
  take(block: number, owner: number): void;
  /** Takes all sectors of a descriptor's segments. */
  takeSegments(descriptor: Descriptor, owner: number): Claim;
  /** Blocks held by more than one, each with its holders. */
  clashes: ReadonlyMap<number, number[]>;
}

/** `total`: sectors of the volume; `blocks`: those of the image. */
export function newClaims(blocks: number, total: number): Claims {
  const owners = new Int32Array(blocks).fill(OWNER.free);
  const clashes = new Map<number, number[]>();
  // Sound files hold each block once; a damaged image whose files all claim the whole disk stops here.
  let budget = 4 * blocks + 4096;

  const take = (block: number, owner: number): void => {
    const before = owners[block];
    if (before === undefined) return;
    if (before === OWNER.free) owners[block] = owner;
    else if (before === OWNER.clash) clashes.get(block)?.push(owner);
    else {
      owners[block] = OWNER.clash;
      clashes.set(block, [before, owner]);
    }
  };

  return {
    owners,
    clashes,
    take,
    takeSegments(descriptor, owner) {
      const claim: Claim = { blocks: [], spare: [], absent: 0, pastEnd: 0, cut: false };
      const wanted = contentSectors(descriptor);
      let index = 0;
      for (const { lsn, count } of descriptor.segments) {
        const end = lsn + count;
        claim.pastEnd += Math.max(0, end - Math.max(lsn, total));
        const content = Math.max(0, Math.min(count, wanted - index));
        claim.absent += Math.max(0, Math.min(content, lsn + content - blocks));
        for (let block = lsn; block < Math.min(end, blocks); block++) {
          if (budget-- <= 0) {
            claim.cut = true;
            return claim;
          }
          (block - lsn < content ? claim.blocks : claim.spare).push(block);
          take(block, owner);
        }
        index += count;
      }
      return claim;
    },
  };
}
