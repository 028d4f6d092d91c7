import type { BenchCable, LineEnd } from "../bench/index.ts";
import { InputError } from "../errors/index.ts";
import { type ContactView, contactView } from "./contacts.ts";
import { type EndName, type Pin, pinOf, type Wiring } from "./nets.ts";

/**
 * A cable as a drawing to print and solder from: both plugs from the wire side, long row up, contacts numbered and
 * placed as they are; wires between them, jumpers outside. Colours repeat, so each wire is labelled too.
 */

const PITCH = 34;
const ROW = 40;
const LANE = 22;
const EDGE = 60;
const RADIUS = 11;
/** Width of a letter at the size of the text, on the safe side: the reader's own font is not known. */
const LETTER = 7.5;
const COLOURS = [
  "#b3261e",
  "#1f5fa8",
  "#1d1d1b",
  "#2e7d32",
  "#8e44ad",
  "#b35c00",
  "#00707a",
  "#6d4c41",
  "#5a6b00",
  "#9c2a6b",
];

const escaped = (text: string): string =>
  text.replace(/[&<>"]/g, (found) => ({ "&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;" })[found]!);
const words = (x: number, y: number, text: string, extra = "") =>
  `<text x="${x}" y="${y}"${extra}>${escaped(text)}</text>`;

/** The plug on the cable has the other kind of contacts than the machine. A DTE has pins, a DCE sockets, by custom. */
const plugOf = (end: LineEnd): { contacts: "pins" | "sockets"; known: boolean } => ({
  contacts: (end.contacts ?? (end.role === "DCE" ? "sockets" : "pins")) === "pins" ? "sockets" : "pins",
  known: end.contacts !== undefined,
});

interface Plug {
  end: LineEnd;
  name: EndName;
  view: ContactView;
  /** Place of the first contact of the upper row. */
  left: number;
  top: number;
}

const at = (plug: Plug, pin: number): { x: number; y: number } => {
  const place = plug.view.places.find((each) => each.pin === pin);
  if (!place)
    throw new InputError(
      "no-such-pin",
      `${plug.end.name} has no pin ${pin}: its connector has ${plug.view.places.length}.`,
    );
  return { x: plug.left + place.x * PITCH, y: plug.top + place.y * ROW };
};

/** How a wire leaves a contact upwards or downwards: beside the contact of the other row where that is in the way. */
function leave(plug: Plug, pin: number, way: 1 | -1): string {
  const { x, y } = at(plug, pin);
  const crosses = plug.view.shape === "header" && (way === 1) === (y === plug.top) && plug.view.rows === 2;
  return crosses ? `${x},${y} ${x + PITCH / 2},${y + (way * ROW) / 2} ${x + PITCH / 2},` : `${x},${y} ${x},`;
}

function outline(plug: Plug): string {
  const { view, left, top } = plug;
  const [x, y] = [left - 26, top - 24];
  const [width, height] = [(view.columns - 1) * PITCH + 52, (view.rows - 1) * ROW + 48];
  const shell =
    view.shape === "D"
      ? `<path d="M${x + 8} ${y}H${x + width - 8}Q${x + width} ${y} ${x + width - 2} ${y + 8}L${x + width - 14} ${y + height - 6}Q${x + width - 16} ${y + height} ${x + width - 22} ${y + height}H${x + 22}Q${x + 16} ${y + height} ${x + 14} ${y + height - 6}L${x + 2} ${y + 8}Q${x} ${y} ${x + 8} ${y}Z"/>`
      : `<rect x="${x}" y="${y}" width="${width}" height="${height}" rx="3"/>`;
  const first = view.shape === "header" ? `<path d="M${x + 2} ${y - 12}h12l-6 9z" fill="#1d1d1b" stroke="none"/>` : "";
  return `<g fill="none" stroke="#1d1d1b" stroke-width="1.5">${shell}${first}</g>`;
}

function contactsOf(plug: Plug, used: ReadonlySet<number>): string {
  return plug.view.places
    .map(({ pin }) => {
      const { x, y } = at(plug, pin);
      const circuit = pinOf(plug.end, plug.name, pin).circuit;
      const title = `<title>${escaped(`contact ${pin}${circuit ? `, ${circuit}` : ""}`)}</title>`;
      return `<g>${title}<circle cx="${x}" cy="${y}" r="${RADIUS}" fill="${used.has(pin) ? "#ffe9b0" : "#fff"}" stroke="#1d1d1b"/>${words(x, y + 3.5, String(pin), ' text-anchor="middle"')}</g>`;
    })
    .join("");
}

const label = (pin: Pin, end: LineEnd) => `${end.name} ${pin.pin}${pin.circuit ? ` ${pin.circuit}` : ""}`;

/**
 * The drawing as SVG text. `wiring` may be a design's or that of a cable of the bench (`cableNets`). Throws an
 * `InputError` where a connector is not given or has no such pin.
 */
export function drawCable(cable: Pick<BenchCable, "name" | "from" | "to">, wiring: Wiring): string {
  const { from, to } = cable;
  const views = [from, to].map((end) => {
    if (!end.connector)
      throw new InputError("no-connector", `${end.name}: the connector is not given (${end.path}.connector).`);
    return contactView(end.connector, plugOf(end).contacts);
  }) as [ContactView, ContactView];
  const widest = Math.max(views[0].columns, views[1].columns);
  const heading = 56;
  const above = heading + 40 + wiring.jumpersFrom.length * LANE;
  // A quarter of the pitch aside, so that no wire of one plug runs down the line of another's.
  const upper: Plug = { end: from, name: "from", view: views[0], left: EDGE, top: above + 24 };
  const firstLane = upper.top + (views[0].rows - 1) * ROW + 56;
  const lower: Plug = {
    end: to,
    name: "to",
    view: views[1],
    left: EDGE + PITCH / 4,
    top: firstLane + wiring.wires.length * LANE + 64,
  };
  const lowerEnd = lower.top + (views[1].rows - 1) * ROW + 24;
  const right = EDGE + widest * PITCH + 20;
  const notes = notesOf(upper, lower);
  const titleBelow = lowerEnd + 30 + wiring.jumpersTo.length * LANE;
  const height = titleBelow + 40 + notes.length * 18;

  const lines: string[] = [];
  const labels: string[] = [];
  const line = (points: string, index: number, text: string, y: number) => {
    labels.push(text);
    const colour = COLOURS[index % COLOURS.length]!;
    lines.push(
      `<polyline points="${points}" fill="none" stroke="${colour}" stroke-width="2.5" stroke-linejoin="round"/>`,
    );
    lines.push(words(right, y + 4, text, ` fill="${colour}"`));
  };
  for (const [index, [a, b]] of wiring.wires.entries()) {
    const y = firstLane + index * LANE;
    const down = leave(upper, a, 1);
    const [endPoint = "", ...rest] = leave(lower, b, -1).trim().split(" ");
    const up = [...rest.slice(0, -1), `${(rest.at(-1) ?? "").replace(/,$/, "")},`];
    const turn = up.at(-1)!;
    const back = [`${turn}${y}`, ...up.slice(0, -1).reverse(), endPoint].join(" ");
    line(
      `${down}${y} ${back}`,
      index,
      `${label(pinOf(from, "from", a), from)}  –  ${label(pinOf(to, "to", b), to)}`,
      y,
    );
  }
  const jumper = (plug: Plug, [a, b]: readonly [number, number], index: number, y: number, way: 1 | -1) => {
    const out = leave(plug, a, way);
    const back = leave(plug, b, way).split(" ");
    const turn = `${back.pop()!}${y}`;
    line(
      `${out}${y} ${turn} ${back.reverse().join(" ")}`,
      index + 5,
      `jumper ${label(pinOf(plug.end, plug.name, a), plug.end)}  –  ${label(pinOf(plug.end, plug.name, b), plug.end)}`,
      y,
    );
  };
  for (const [index, pair] of wiring.jumpersFrom.entries()) jumper(upper, pair, index, above - 14 - index * LANE, -1);
  for (const [index, pair] of wiring.jumpersTo.entries()) jumper(lower, pair, index, lowerEnd + 16 + index * LANE, 1);

  const texts = [...notes, titleOf(upper), titleOf(lower), cable.name.padEnd(cable.name.length * 1.5)];
  const width = Math.max(
    720,
    ...texts.map((text) => EDGE + text.length * LETTER),
    ...labels.map((text) => right + 26 + text.length * LETTER),
  );
  const used = (side: 0 | 1, jumpers: readonly (readonly [number, number])[]) =>
    new Set([...wiring.wires.map((pair) => pair[side]), ...jumpers.flat()]);
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}" font-family="sans-serif" font-size="12" role="img">`,
    `<title>${escaped(`Cable ${cable.name}: ${from.name} to ${to.name}, from the wire side`)}</title>`,
    `<rect width="${width}" height="${height}" fill="#fff"/>`,
    words(EDGE - 26, 26, cable.name, ' font-size="17" font-weight="bold"'),
    words(EDGE - 26, heading - 8, titleOf(upper), ' font-weight="bold"'),
    ...lines,
    outline(upper),
    outline(lower),
    contactsOf(upper, used(0, wiring.jumpersFrom)),
    contactsOf(lower, used(1, wiring.jumpersTo)),
    words(EDGE - 26, titleBelow, titleOf(lower), ' font-weight="bold"'),
    ...notes.map((note, index) => words(EDGE - 26, titleBelow + 26 + index * 18, note)),
    "</svg>",
  ].join("\n");
}

/** There is no custom of pins and sockets for connectors other than D and headers: not told where it is not given. */
function titleOf({ end, view }: Plug): string {
  const { contacts, known } = plugOf(end);
  const kind = known || view.true ? `${contacts}, ` : "";
  return `Plug for ${end.name}${end.role ? ` (${end.role})` : ""}: ${end.connector!.title}, ${kind}from the wire side`;
}

function notesOf(...plugs: Plug[]): string[] {
  const notes = [
    "The numbers moulded beside the contacts decide. Where they run the other way, the picture is to be read as in a mirror.",
  ];
  for (const plug of plugs) {
    if (!plugOf(plug.end).known && plug.view.shape === "D")
      notes.push(
        `Whether ${plug.end.name} has pins or sockets is not given; drawn as is the custom (${plug.end.path}.contacts).`,
      );
    if (!plug.view.true)
      notes.push(`The contacts of the plug for ${plug.end.name} stand in a row by number here, not as they lie.`);
  }
  return notes;
}
