import type { DrawingProps } from "../stations.ts";
import { fitted, Label, NotThere } from "./paper.tsx";

/** Devices named on the cable; the rest is counted. */
const NAMED = 5;

/** The cable between drive and computer, with what hangs on it by address. */
export function BusDrawing({ drawing: { bus } }: DrawingProps) {
  if (!bus) return <NotThere width={116} what="bus" />;
  const devices = [...bus.devices].sort((a, b) => (a.address ?? 99) - (b.address ?? 99));
  const shown = devices.slice(0, NAMED);
  return (
    <g>
      {[-5, 0, 5].map((offset) => (
        <path
          key={offset}
          className="d-strand"
          d={`M6 ${206 + offset}C34 ${206 + offset} 30 ${236 + offset} 58 ${236 + offset}S82 ${206 + offset} 110 ${206 + offset}`}
        />
      ))}
      <rect className="d-part" x="-4" y="194" width="13" height="24" rx="2" />
      <rect className="d-part" x="107" y="194" width="13" height="24" rx="2" />
      {shown.map(({ name, address }, index) => {
        const y = 182 - (shown.length - 1 - index) * 21;
        return (
          <g key={name}>
            <circle className="d-part" cx="20" cy={y - 3.5} r="8.500" />
            <Label x={20} y={y} anchor="middle" size={9} strong>
              {address ?? "–"}
            </Label>
            <Label x={33} y={y} size={9.5}>
              {fitted(name, 15)}
            </Label>
          </g>
        );
      })}
      {devices.length > NAMED && (
        <Label x={20} y={182 - shown.length * 21} size={9}>
          and {devices.length - NAMED} more
        </Label>
      )}
      {bus.length && (
        <Label x={58} y={225} anchor="middle" size={9}>
          {bus.length}
        </Label>
      )}
    </g>
  );
}
