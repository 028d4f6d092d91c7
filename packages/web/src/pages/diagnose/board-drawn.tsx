import type { Ranked } from "@rouse/core/diagnose";
import { MemoryMap, type PackedMemory, pictureOf, unpackMemory } from "@rouse/core/memory";
import { useMemo, useRef } from "react";
import { BoardDrawn, PartDrawn } from "../../parts/chips/drawn.tsx";
import { layoutParts } from "../../parts/chips/layout.ts";
import { useWidth } from "../../parts/use-width.ts";

const NONE: ReadonlySet<number> = new Set();

/** The boards with the suspects on them: chips by their rank; what is no chip lights its part. */
export function SuspectsDrawn({ memory, ranked }: { memory: PackedMemory; ranked: readonly Ranked[] }) {
  const place = useRef<HTMLDivElement>(null);
  const width = useWidth(place);
  const picture = useMemo(() => pictureOf(new MemoryMap(unpackMemory(memory))), [memory]);
  const bar = width < 620 ? 22 : 44;
  const at = { parts: 0, partsWidth: width, bar };
  const { boards, height } = useMemo(() => layoutParts(picture, width - bar - 30), [picture, width, bar]);
  const suspects = ranked.map(({ suspect }, index) => ({ ...suspect, rank: index + 1 }));
  const about = suspects
    .map(({ rank, title, board }) => `${rank}: ${title}${board === undefined ? "" : ` on ${board}`}`)
    .join("; ");
  return (
    <div ref={place} className="d-boards">
      <svg width={width} height={height + 2} role="img" aria-label={`The boards. ${about}.`}>
        {boards.map((board) => (
          <BoardDrawn
            key={board.board ?? ""}
            board={board}
            x={0}
            width={width}
            isLit={board.parts.some(({ part }) => part.name === suspects[0]?.part)}
          />
        ))}
        {boards
          .flatMap((board) => board.parts)
          .map((box) => {
            const own = suspects.filter(({ part }) => part === box.part.name);
            const chips = own.flatMap(({ chip, rank }) => (chip === undefined ? [] : [[chip, rank] as const]));
            return (
              <PartDrawn
                key={box.part.name}
                box={box}
                at={at}
                lit={new Set(chips.filter(([, rank]) => rank === 1).map(([chip]) => chip))}
                litBanks={NONE}
                isLit={own.length > 0}
                // A line or a select serves all of its part.
                shown={own.some(({ chip }) => chip === undefined) ? [{ first: 0, last: box.part.bytes - 1 }] : []}
                ranks={new Map([...chips].reverse())}
              />
            );
          })}
      </svg>
    </div>
  );
}
