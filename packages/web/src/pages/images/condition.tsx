import type { Condition } from "@rouse/core/volume";
import { VerdictShape } from "../../parts/verdict.tsx";

const LIKE = { whole: "runs", "readable with loss": "tight", lost: "stops" } as const;

/** How much can still be had, by shape, word and colour. */
export function ConditionMark({ condition }: { condition: Condition }) {
  return (
    <span className={`verdict is-${LIKE[condition]}`}>
      <VerdictShape verdict={LIKE[condition]} />
      {condition}
    </span>
  );
}

/** "segment-list volume" */
export const kindInWords = (kind: string): string => `${kind === "fat12" ? "FAT12" : kind} volume`;
