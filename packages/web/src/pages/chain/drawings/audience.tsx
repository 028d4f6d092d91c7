import type { DrawingProps } from "../stations.ts";
import { Label, NotThere, TABLE } from "./paper.tsx";

const A_ROW = 6;
const MOST = 36;

/** The people, in rows, seen from behind; the numbers that the bench gives stand above them. */
export function AudienceDrawing({ drawing: { audience } }: DrawingProps) {
  if (!audience) return <NotThere width={122} what="audience" />;
  const people = Math.min(MOST, audience.people ?? 0);
  const rows = Math.ceil(people / A_ROW);
  return (
    <g>
      {Array.from({ length: people }, (_, index) => {
        const row = Math.floor(index / A_ROW);
        const x = 16 + (index % A_ROW) * 17 + (row % 2 ? 8 : 0);
        const y = TABLE - 14 - (rows - 1 - row) * 24;
        return (
          // biome-ignore lint/suspicious/noArrayIndexKey: one person is like another here
          <g key={index} className="d-person">
            <path d={`M${x - 8} ${y + 14}v-4a8 7.500 0 0 1 16 0v4z`} />
            <circle cx={x} cy={y - 2} r="4.8" />
          </g>
        );
      })}
      <Label x={61} y={Math.min(232, TABLE - rows * 24 - 12)} anchor="middle" size={9.5}>
        {audience.people === undefined ? "people not counted" : `${audience.people} people`}
        {audience.distance ? `, ${audience.distance} away` : ""}
      </Label>
    </g>
  );
}
