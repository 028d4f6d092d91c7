import type { DrawingProps } from "../stations.ts";
import { fitted, Label, NotThere, TABLE } from "./paper.tsx";

/** The image: a sheet of bytes, with as many discs on it as the recording has sides. */
export function ImageDrawing({ drawing: { image } }: DrawingProps) {
  if (!image) return <NotThere width={100} what="image" />;
  const sides = image.sides ?? 1;
  return (
    <g>
      <path className="d-sheet" d={`M12 ${TABLE}V132H66L88 154V${TABLE}Z`} />
      <path className="d-line" d="M66 132V154H88" />
      {Array.from({ length: 5 }, (_, row) => (
        <path
          // biome-ignore lint/suspicious/noArrayIndexKey: the rows never change places
          key={row}
          className="d-bytes"
          d={`M22 ${166 + row * 9}H${row === 4 ? 48 : 78}`}
        />
      ))}
      {Array.from({ length: sides }, (_, side) => (
        // biome-ignore lint/suspicious/noArrayIndexKey: the sides never change places
        <g key={side} transform={`translate(${sides === 2 ? 36 + side * 28 : 50} 230)`}>
          <circle className="d-part" r="11" />
          <circle className="d-line" r="7" />
          <circle className="d-solid" r="2" />
        </g>
      ))}
      <Label x={50} y={122} anchor="middle" mono size={9.5}>
        {fitted(image.file.replace(/^images\//, ""), 16)}
      </Label>
      <path className="d-way" d="M90 206h8" />
    </g>
  );
}

const ACROSS: Readonly<Record<string, number>> = { "8-inch": 98, "5.25-inch": 78, "3.5-inch": 58 };

export function MediumDrawing({ drawing: { medium } }: DrawingProps) {
  if (!medium) return <NotThere width={108} what="medium" />;
  const across = ACROSS[medium.size ?? ""] ?? 78;
  const [left, top] = [54 - across / 2, TABLE - across];
  const [x, y] = [54, top + across / 2];
  return (
    <g>
      <rect className="d-jacket" x={left} y={top} width={across} height={across} rx="3" />
      <circle className="d-sheet" cx={x} cy={y - 1} r={across * 0.17} />
      <circle className="d-line" cx={x} cy={y - 1} r={across * 0.11} />
      <rect className="d-sheet" x={x - 3.5} y={y + across * 0.21} width="7" height={across * 0.24} rx="3.5" />
      <rect className="d-sheet" x={left + 8} y={top + 6} width={across * 0.5} height={across * 0.16} />
      <path className="d-bytes" d={`M${left + 12} ${top + 6 + across * 0.08}h${across * 0.4}`} />
      <Label x={54} y={top - 9} anchor="middle" size={9.5}>
        {medium.size ?? "size not known"}
      </Label>
      <path className="d-way" d="M100 206h8" />
    </g>
  );
}

/** The drive, cut open to show the disc between its heads: one head, or one on each side. */
export function DriveDrawing({ drawing: { drive } }: DrawingProps) {
  if (!drive) return <NotThere width={130} what="drive" />;
  const two = drive.sides === 2;
  return (
    <g>
      <rect className="d-case" x="8" y="138" width="114" height={TABLE - 138} rx="6" />
      <rect className="d-line" x="8" y="138" width="114" height={TABLE - 138} rx="6" />
      <rect className="d-sheet" x="18" y="148" width="94" height="62" rx="3" />
      <ellipse className="d-disc" cx="65" cy="180" rx="40" ry="5.5" />
      <path className="d-line" d="M65 174.5V168M65 185.500V196M56 196h18" />
      <path className={two ? "d-head" : "d-absent"} d="M88 175l-4-8h8zM88 167v-9h18" />
      <path className="d-head" d="M88 185l-4 8h8zM88 193v9h18" />
      <Label x={25} y={160} size={8.5}>
        {two ? "two heads" : drive.sides === 1 ? "one head" : "heads not known"}
      </Label>
      <path className="d-slot" d="M20 226h66" />
      <rect className="d-part" x="46" y="220" width="12" height="14" rx="2" />
      <circle className="d-lamp" cx="106" cy="227" r="4" />
      <Label x={65} y={128} anchor="middle" size={9.5}>
        {fitted(drive.name, 22)}
      </Label>
    </g>
  );
}
