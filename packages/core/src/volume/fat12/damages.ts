import { type Condition, type Damage, MOST_BLOCKS_TOLD, MOST_FILES_TOLD } from "../types.ts";

/** Damages of one code told one by one; those beyond are told together, so that the list stays readable. */
const MOST_OF_A_CODE = 50;

interface Told {
  code: string;
  condition: Condition;
  sentence: string;
  blocks: number[];
  blockCount: number;
  files: string[];
  repair: string;
}

const RANK: Record<Condition, number> = { lost: 0, "readable with loss": 1, whole: 2 };

/** The worse of two conditions. */
export const worse = (one: Condition, other: Condition): Condition => (RANK[one] <= RANK[other] ? one : other);

/** Gathers damages; the lists in each are kept short as `Damage` says. */
export class Damages {
  readonly #told: Told[] = [];
  readonly #counts = new Map<string, { count: number; rest?: Told }>();

  /** `blocks` may be any length; `blockCount` is the true number where `blocks` is only the first of them. */
  add(
    code: string,
    condition: Condition,
    sentence: string,
    blocks: readonly number[],
    files: readonly string[],
    repair: string,
    blockCount = blocks.length,
  ): void {
    const kind = this.#counts.get(code) ?? { count: 0 };
    this.#counts.set(code, kind);
    if (++kind.count <= MOST_OF_A_CODE) {
      this.#told.push({
        code,
        condition,
        sentence,
        blocks: blocks.slice(0, MOST_BLOCKS_TOLD),
        blockCount,
        files: files.slice(0, MOST_FILES_TOLD),
        repair,
      });
      return;
    }
    if (!kind.rest) {
      kind.rest = { code, condition, sentence: "", blocks: [], blockCount: 0, files: [], repair };
      this.#told.push(kind.rest);
    }
    const { rest } = kind;
    rest.condition = worse(rest.condition, condition);
    rest.sentence = `The same was met ${kind.count - MOST_OF_A_CODE} times more.`;
    rest.blocks.push(...blocks.slice(0, MOST_BLOCKS_TOLD - rest.blocks.length));
    rest.blockCount += blockCount;
    rest.files.push(...files.slice(0, MOST_FILES_TOLD - rest.files.length));
  }

  /** Worst first. */
  list(): Damage[] {
    return [...this.#told].sort((one, other) => RANK[one.condition] - RANK[other.condition]);
  }
}
