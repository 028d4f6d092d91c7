import { hexOf } from "../../../parts/words.ts";
import type { DrawingProps } from "../stations.ts";
import { Case, fitted, Label, NotThere } from "./paper.tsx";

const [TOP, FOOT] = [80, 234];
/** Left edge and width of the bar. */
const [LEFT, WIDE] = [28, 32];
const yOf = (address: number): number => FOOT - (Math.min(0x10000, address) / 0x10000) * (FOOT - TOP);

/** The address space as the CPU sees it: 0000 at the foot, FFFF at the top, banks fanned out behind their window. */
export function MemoryDrawing({ drawing: { computer } }: DrawingProps) {
  if (!computer) return <NotThere width={132} what="memory" />;
  const regions = [...computer.regions].sort((a, b) => a.from - b.from);
  let lowest = FOOT + 20;
  let named = FOOT + 20;
  return (
    <g>
      <Case width={132} part="middle" />
      <Label x={66} y={47} anchor="middle" size={9.5}>
        {computer.cpu ?? "CPU not known"}
        {computer.clock ? `, ${computer.clock}` : ""}
      </Label>
      <rect className="d-absent" x={LEFT} y={TOP} width={WIDE} height={FOOT - TOP} />
      {regions.map((region) => {
        const y = yOf(region.to + 1);
        const height = Math.max(2.5, yOf(region.from) - y);
        const addressAt = yOf(region.from);
        const showsAddress = lowest - addressAt >= 11;
        if (showsAddress) lowest = addressAt;
        const middle = Math.min(y + height / 2 + 3, named - 10);
        named = middle;
        const behind = Math.min(region.banks ?? 1, 8);
        return (
          <g key={region.name}>
            {Array.from({ length: behind - 1 }, (_, index) => {
              const offset = (behind - 1 - index) * 2.2;
              return (
                <rect
                  // biome-ignore lint/suspicious/noArrayIndexKey: banks keep their order
                  key={index}
                  className="d-region is-window"
                  x={LEFT + offset}
                  y={y - offset}
                  width={WIDE}
                  height={height}
                />
              );
            })}
            <rect className={`d-region is-${region.kind}`} x={LEFT} y={y} width={WIDE} height={height} />
            {showsAddress && (
              <Label x={LEFT - 5} y={addressAt + 2} anchor="end" mono size={8}>
                {hexOf(region.from).slice(1)}
              </Label>
            )}
            <Label x={LEFT + WIDE + 19} y={middle} size={8.5}>
              {fitted(region.banks ? `${region.banks} × ${region.name}` : region.name, 10)}
            </Label>
          </g>
        );
      })}
      {computer.translation && (
        <rect className="d-strand is-accent" x={LEFT - 3} y={TOP - 3} width={WIDE + 6} height={FOOT - TOP + 6} rx="3" />
      )}
    </g>
  );
}
