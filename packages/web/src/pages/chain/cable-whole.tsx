import type { Drawing } from "../../job/types.ts";
import { CARRIES_WORDS, CableWires } from "./drawings/cable.tsx";
import { Label } from "./drawings/paper.tsx";

type Cable = NonNullable<Drawing["cable"]>;

/** The cable with every pin that carries a circuit, and what the strokes mean. */
export function CableWhole({ cable }: { cable: Cable }) {
  if (cable.missing.length > 0 || cable.wires.length === 0) return null;
  const pins = Math.max(cable.from.pins.length, cable.to.pins.length);
  const height = pins * 19 + 70;
  const used = [...new Set(cable.wires.map(({ carries }) => carries))];
  return (
    <figure className="cable-whole">
      <svg viewBox={`0 0 520 ${height}`} role="img" aria-label={inWords(cable)}>
        <Label x={6} y={18} size={12} strong>
          {cable.from.name}
        </Label>
        <Label x={6} y={33} size={11}>
          {[cable.from.role, cable.from.connector].filter(Boolean).join(", ")}
        </Label>
        <Label x={514} y={18} size={12} strong anchor="end">
          {cable.to.name}
        </Label>
        <Label x={514} y={33} size={11} anchor="end">
          {[cable.to.role, cable.to.connector].filter(Boolean).join(", ")}
        </Label>
        <CableWires cable={cable} width={520} top={62} foot={height - 20} short={false} />
      </svg>
      <figcaption>
        {used.map((carries) => (
          <span key={carries} className={`wire-key is-${carries}`}>
            <svg viewBox="0 0 34 10" aria-hidden="true">
              <g className={`wire is-${carries}`}>
                <path d="M1 5h32" />
              </g>
            </svg>
            {CARRIES_WORDS[carries]}
          </span>
        ))}
        <span className="wire-key">A large pin drives, a small one listens.</span>
      </figcaption>
    </figure>
  );
}

function inWords(cable: Cable): string {
  const circuit = (end: Cable["from"], pin: number): string =>
    end.pins.find((each) => each.pin === pin)?.circuit ?? "nothing";
  const wires = cable.wires.filter(({ from }) => cable.from.pins.some(({ pin }) => pin === from));
  return `${cable.name}: ${wires
    .map(
      ({ from, to, carries }) =>
        `pin ${from} (${circuit(cable.from, from)}) to pin ${to} (${circuit(cable.to, to)}), ${CARRIES_WORDS[carries]}`,
    )
    .join("; ")}.`;
}
