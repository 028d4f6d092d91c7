import { type Condition, type Damage, MOST_BLOCKS_TOLD, MOST_FILES_TOLD } from "../types.ts";

/** Collects damages, cutting long lists as `Damage` asks. */
export interface Report {
  damages: Damage[];
  add(damage: {
    code: string;
    condition: Condition;
    sentence: string;
    blocks?: readonly number[];
    files?: readonly string[];
    repair: string;
  }): void;
}

export function startReport(): Report {
  const damages: Damage[] = [];
  return {
    damages,
    add({ code, condition, sentence, blocks = [], files = [], repair }) {
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
  };
}

const RANK: Readonly<Record<Condition, number>> = { whole: 0, "readable with loss": 1, lost: 2 };

export const worse = (one: Condition, other: Condition): Condition => (RANK[one] >= RANK[other] ? one : other);

/** "1 block", "2 blocks". */
export const counted = (count: number, noun: string): string => `${count} ${noun}${count === 1 ? "" : "s"}`;

/** Most stretches that a sentence names. */
const MOST_STRETCHES = 12;

/** "3", "17–19 and 40", "1–2, 5 and 9 more stretches": ascending stretches of numbers in words, a long list cut short. */
export function inWords(stretches: readonly (readonly [from: number, to: number])[]): string {
  const words = stretches.slice(0, MOST_STRETCHES).map(([from, to]) => (from === to ? `${from}` : `${from}–${to}`));
  if (stretches.length > MOST_STRETCHES) words.push(`${stretches.length - MOST_STRETCHES} more stretches`);
  const final = words.pop() ?? "none";
  return words.length === 0 ? final : `${words.join(", ")} and ${final}`;
}
