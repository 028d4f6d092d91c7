import type { DrawingProps } from "../stations.ts";
import { Case, fitted, Label, NotThere } from "./paper.tsx";

/** From the crystal through the divider and the port's chip to the connector in the case's wall. */
export function PortDrawing({ drawing: { port, computer } }: DrawingProps) {
  if (!port) return <NotThere width={112} what="port" />;
  const dividers = [port.divide, port.ratio].filter((each) => each !== undefined).map((each) => `÷ ${each}`);
  return (
    <g>
      {computer && <Case width={112} part="right" />}
      <rect className="d-crystal" x="10" y="54" width="46" height="22" rx="9" />
      <Label x={33} y={68.5} anchor="middle" size={8.5}>
        crystal
      </Label>
      <path className="d-strand" d="M16 76v40" />
      <Label x={22} y={90} size={9} mono>
        {port.clock ?? "clock not known"}
      </Label>
      <Label x={22} y={104} size={9} mono>
        {dividers.join(" ")}
      </Label>
      {[0, 1, 2, 3, 4].map((pin) => (
        <path key={pin} className="d-line" d={`M${16 + pin * 9} 120v-4M${16 + pin * 9} 156v4`} />
      ))}
      <rect className="d-part" x="10" y="120" width="50" height="36" rx="2" />
      <Label x={35} y={142} anchor="middle" size={9} strong>
        {fitted(port.uart ?? "no part", 9)}
      </Label>
      <path className="d-strand" d="M60 132h14v-8h16M60 138h30M60 144h14v8h16" />
      <path className="d-part" d="M90 100l14 7v62l-14 7z" />
      <Label x={10} y={180} size={9}>
        {fitted(port.format ? `frame ${port.format}` : "frame not known", 16)}
      </Label>
      <Label x={10} y={194} size={9}>
        {fitted(port.connector ?? "", 18)}
      </Label>
    </g>
  );
}
