import type { DrawingProps } from "../stations.ts";
import { Case, fitted, Label } from "./paper.tsx";

interface LooseNeed {
  kind: string;
  [field: string]: unknown;
}

/** A need of the system in two or three words. */
function inShort(need: LooseNeed): string {
  const number = (field: string): number | undefined =>
    typeof need[field] === "number" ? (need[field] as number) : undefined;
  switch (need.kind) {
    case "cpu":
      return `CPU: ${String(need.instructionSet ?? "")}`;
    case "memory":
      return `${Math.ceil((number("bytes") ?? 0) / 1024)} KiB memory`;
    case "translation":
      return "translation";
    case "drive":
      return need.of === "image" ? `drive, ${number("tracks") ?? "?"} tracks` : `drive ${String(need.name ?? "")}`;
    case "files":
      return "record files";
    case "port":
      return `port ${String(need.name ?? "")}`;
    case "screen":
      return need.columns === undefined ? "screen" : `${String(need.columns)} columns`;
    case "controls":
      return "screen controls";
    default:
      return need.kind;
  }
}

const MOST = 8;

/** What the system on the image asks for, as a slip pinned inside the case. */
export function SystemDrawing({ drawing, report }: DrawingProps) {
  const image = report.images.find((each) => each.name === drawing.image?.name) ?? report.images[0];
  const needs = [...new Set((image?.needs ?? []).map((need) => inShort(need as LooseNeed)))];
  return (
    <g>
      {drawing.computer && <Case width={112} part="middle" />}
      <rect className="d-sheet" x="8" y="66" width="96" height="160" rx="2" />
      <circle className="d-solid" cx="56" cy="72" r="2.5" />
      <Label x={16} y={88} size={9} strong>
        {needs.length > 0 ? "The system asks" : "No system found"}
      </Label>
      {needs.slice(0, MOST).map((need, index) => (
        <g key={need}>
          <path className="d-bytes" d={`M16 ${98 + index * 15}h80`} />
          <Label x={16} y={109 + index * 15} size={9.5}>
            {fitted(need, 17)}
          </Label>
        </g>
      ))}
      {needs.length > MOST && (
        <Label x={16} y={110 + MOST * 15 - 3} size={9}>
          and {needs.length - MOST} more
        </Label>
      )}
    </g>
  );
}
