import type { ReactNode } from "react";

/** The table's top in every drawing of the chain. */
export const TABLE = 252;

/** A label of a drawing; `size` in units of the drawing. */
export function Label({
  x,
  y,
  children,
  size = 10,
  anchor = "start",
  mono = false,
  strong = false,
}: {
  x: number;
  y: number;
  children: ReactNode;
  size?: number;
  anchor?: "start" | "middle" | "end";
  mono?: boolean;
  strong?: boolean;
}) {
  return (
    <text
      x={x}
      y={y}
      fontSize={size}
      textAnchor={anchor}
      className={`d-label${mono ? " is-mono" : ""}${strong ? " is-strong" : ""}`}
    >
      {children}
    </text>
  );
}

/** What the bench does not describe: a dashed place on the table. */
export function NotThere({ width, what }: { width: number; what: string }) {
  return (
    <g>
      <rect className="d-absent" x={10} y={TABLE - 92} width={width - 20} height={92} rx={4} />
      <Label x={width / 2} y={TABLE - 48} anchor="middle" size={10}>
        {what}
      </Label>
      <Label x={width / 2} y={TABLE - 34} anchor="middle" size={10}>
        not described
      </Label>
    </g>
  );
}

/** Cuts a label that would run out of its place. */
export const fitted = (text: string, most: number): string =>
  text.length <= most ? text : `${text.slice(0, most - 1).trimEnd()}…`;

/** The computer's case runs through four drawings: its left end, two middles and its right end. */
export function Case({ width, part }: { width: number; part: "left" | "middle" | "right" }) {
  const [top, foot] = [30, TABLE - 6];
  const path = {
    left: `M${width + 0.6} ${top}H16a10 10 0 0 0-10 10V${foot - 8}a8 8 0 0 0 8 8H${width + 0.6}`,
    middle: `M-0.6 ${top}H${width + 0.6}M-0.6 ${foot}H${width + 0.6}`,
    right: `M-0.6 ${top}H${width - 18}a10 10 0 0 1 10 10V${foot - 8}a8 8 0 0 1-8 8H-0.6`,
  }[part];
  const fill = {
    left: `${path}Z`,
    middle: `M-0.6 ${top}H${width + 0.6}V${foot}H-0.6Z`,
    right: `${path}Z`,
  }[part];
  return (
    <g>
      <path className="d-case" d={fill} />
      <path className="d-line" d={path} />
      {part === "left" && <rect className="d-solid" x={26} y={foot} width={18} height={6} />}
      {part === "right" && <rect className="d-solid" x={width - 46} y={foot} width={18} height={6} />}
    </g>
  );
}
