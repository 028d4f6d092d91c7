import type { Drawing } from "../../../job/types.ts";
import type { DrawingProps } from "../stations.ts";
import { fitted, Label, NotThere } from "./paper.tsx";

type Cable = NonNullable<Drawing["cable"]>;
type End = Cable["from"];
type Wire = Cable["wires"][number];

/** Marks what a wire carries by its stroke as well as its colour. */
export const CARRIES_WORDS: Readonly<Record<Wire["carries"], string>> = {
  data: "data",
  handshake: "handshake",
  ground: "ground",
  fight: "both ends drive it",
  nothing: "no end drives it",
};

/** Places of the pins from top to bottom, by pin number. */
function places(pins: readonly number[], top: number, foot: number): ReadonlyMap<number, number> {
  const sorted = [...pins].sort((a, b) => a - b);
  const step = Math.min(20, (foot - top) / Math.max(1, sorted.length - 1));
  const first = (top + foot - step * (sorted.length - 1)) / 2;
  return new Map(sorted.map((pin, index) => [pin, first + index * step]));
}

const IN_SHORT = new Set(["TxD", "RxD", "RTS", "CTS", "DSR", "DCD", "DTR", "SG", "shield"]);

/** Pins of an end to draw: those with a circuit; in short only those of the everyday circuits. */
const pinsOf = (end: End, short: boolean): number[] =>
  end.pins.filter(({ circuit }) => !short || IN_SHORT.has(circuit)).map(({ pin }) => pin);

/** A cable wire by wire, each plug's pins in order; `short` leaves the rare circuits out. */
export function CableWires({
  cable,
  width,
  top,
  foot,
  short,
}: {
  cable: Cable;
  width: number;
  top: number;
  foot: number;
  short: boolean;
}) {
  const left = places(pinsOf(cable.from, short), top, foot);
  const right = places(pinsOf(cable.to, short), top, foot);
  const reach = short ? 76 : 110;
  const [x0, x1] = [reach, width - reach];
  const middle = (x0 + x1) / 2;
  const drawn = cable.wires.filter(({ from, to }) => left.has(from) && right.has(to));
  const order = ["nothing", "ground", "handshake", "data", "fight"];
  return (
    <g>
      <rect className="d-sheath" x={x0 + 4} y={top - 12} width={x1 - x0 - 8} height={foot - top + 24} rx="14" />
      {[...drawn]
        .sort((a, b) => order.indexOf(a.carries) - order.indexOf(b.carries))
        .map((wire) => {
          const [y0, y1] = [left.get(wire.from)!, right.get(wire.to)!];
          return (
            <g key={`${wire.from}-${wire.to}`} className={`wire is-${wire.carries}`}>
              <path d={`M${x0 - 4} ${y0}C${middle} ${y0} ${middle} ${y1} ${x1 + 4} ${y1}`} />
              {wire.carries === "fight" && (
                <path className="wire-clash" d={`M${middle - 5} ${(y0 + y1) / 2 - 5}l10 10m0-10l-10 10`} />
              )}
              {wire.carries !== "fight" && (wire.towards === "to" || wire.towards === "both") && (
                <path className="wire-tip" d={`M${x1 + 6} ${y1}l-7-3.500v7z`} />
              )}
              {wire.carries !== "fight" && (wire.towards === "from" || wire.towards === "both") && (
                <path className="wire-tip" d={`M${x0 - 6} ${y0}l7-3.500v7z`} />
              )}
            </g>
          );
        })}
      {cable.jumpers.map(({ end, pins: [one, other], carries }) => {
        const at = end === "from" ? left : right;
        const [a, b] = [at.get(one), at.get(other)];
        if (a === undefined || b === undefined) return null;
        const x = end === "from" ? x0 - 2 : x1 + 2;
        const bow = end === "from" ? 20 : -20;
        return (
          <path
            key={`${end} ${one} ${other}`}
            className={`wire is-${carries}`}
            d={`M${x} ${a}C${x + bow} ${a} ${x + bow} ${b} ${x} ${b}`}
          />
        );
      })}
      <Plug end={cable.from} at={left} x={6} side="left" short={short} top={top} foot={foot} />
      <Plug end={cable.to} at={right} x={width - 6} side="right" short={short} top={top} foot={foot} />
    </g>
  );
}

function Plug({
  end,
  at,
  x,
  side,
  short,
  top,
  foot,
}: {
  end: End;
  at: ReadonlyMap<number, number>;
  x: number;
  side: "left" | "right";
  short: boolean;
  top: number;
  foot: number;
}) {
  const inwards = side === "left" ? 1 : -1;
  return (
    <g>
      <path className="d-part" d={`M${x} ${top - 14}l${inwards * 15} 6V${foot + 8}l${-inwards * 15} 6z`} />
      {end.pins.map(({ pin, circuit, direction }) => {
        const y = at.get(pin);
        if (y === undefined) return null;
        return (
          <g key={pin}>
            <circle className="d-pin" cx={x + inwards * 8} cy={y} r={direction === "drives" ? 3 : 2.2} />
            <Label x={x + inwards * 19} y={y + 3} size={9} mono anchor={side === "left" ? "start" : "end"}>
              {side === "left"
                ? `${pin} ${short ? fitted(circuit, 6) : circuit}`
                : `${short ? fitted(circuit, 6) : circuit} ${pin}`}
            </Label>
          </g>
        );
      })}
    </g>
  );
}

export function CableDrawing({ drawing: { cable } }: DrawingProps) {
  if (!cable) return <NotThere width={222} what="cable" />;
  if (cable.missing.length > 0) return <NotThere width={222} what="wires:" />;
  return (
    <g>
      <Label x={111} y={36} anchor="middle" size={9.5}>
        {fitted(cable.length ? `${cable.name}, ${cable.length}` : cable.name, 40)}
      </Label>
      <CableWires cable={cable} width={222} top={66} foot={234} short />
    </g>
  );
}
