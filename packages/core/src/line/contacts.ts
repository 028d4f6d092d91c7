import type { Connector } from "../catalogue/index.ts";

/** Contacts of a plug as one sees them from the side where the wires go on, in steps of the pitch. */
export interface ContactView {
  shape: "D" | "header" | "row";
  /** Whether the contacts lie as drawn; otherwise they stand in a row by number, and the plug's own numbers decide. */
  true: boolean;
  places: readonly { pin: number; x: number; y: number }[];
  columns: number;
  rows: number;
}

const D_ROWS: Readonly<Record<string, readonly [upper: number, lower: number]>> = { "db-25": [13, 12], "de-9": [5, 4] };

/**
 * Places from the wire side. D plugs, long row up: with pins, contact 1 is at the right; with sockets at the left. Header
 * sockets on flat cable: contact 1 at the left of the upper row, odd numbers above even ones. Common practice, no source;
 * the numbers moulded beside the contacts decide.
 */
export function contactView(connector: Connector, contacts: "pins" | "sockets"): ContactView {
  const rows = D_ROWS[connector.id];
  if (rows) {
    const [upper, lower] = rows;
    const place = (pin: number) => (pin <= upper ? { pin, x: pin - 1, y: 0 } : { pin, x: pin - upper - 0.5, y: 1 });
    const places = Array.from({ length: upper + lower }, (_, index) => place(index + 1));
    const mirrored = contacts === "pins" ? places.map((each) => ({ ...each, x: upper - 1 - each.x })) : places;
    return { shape: "D", true: true, places: mirrored, columns: upper, rows: 2 };
  }
  const numbers = Array.from({ length: connector.pins }, (_, index) => index + 1);
  if (connector.id.startsWith("header-"))
    return {
      shape: "header",
      true: true,
      places: numbers.map((pin) => ({ pin, x: (pin - 1) >> 1, y: (pin - 1) % 2 })),
      columns: Math.ceil(connector.pins / 2),
      rows: 2,
    };
  return {
    shape: "row",
    true: connector.id.startsWith("terminal-block"),
    places: numbers.map((pin) => ({ pin, x: pin - 1, y: 0 })),
    columns: connector.pins,
    rows: 1,
  };
}
