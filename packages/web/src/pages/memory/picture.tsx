import { type FullAnswer, type MapState, type MemoryMap, pictureOf } from "@rouse/core/memory";
import { type KeyboardEvent, type PointerEvent, useMemo, useRef, useState } from "react";
import { BoardDrawn, byteY, cut, PartDrawn } from "../../parts/chips/drawn.tsx";
import { layoutParts } from "../../parts/chips/layout.ts";
import { onKeys } from "../../parts/on-keys.ts";
import { ScrollX } from "../../parts/scroll-x.tsx";
import { useWidth } from "../../parts/use-width.ts";
import { hexOf } from "../../parts/words.ts";
import { answerWords } from "./answered.tsx";
import { columnsOf, SpaceDrawn } from "./drawn.tsx";
import { layoutSpace } from "./layout.ts";

const LEAST_HEIGHT = 480;
const TOP = 26;
const LAST = 0xffff;
/** Ribbons beyond which only that of the address is drawn. */
const MOST_RIBBONS = 400;

/** The CPU's space beside the chips, with ribbons between them; pointer and keys choose an address, which lights all it is. */
export function Picture({
  map,
  state,
  address,
  chosen,
  bit,
  placed,
  onChoose,
  onHover,
}: {
  map: MemoryMap;
  state: MapState;
  address: number;
  chosen: number;
  bit: number | undefined;
  /** Parts of the system that are drawn beside the space. */
  placed: readonly { what: string; from: number; to: number }[];
  onChoose: (address: number) => void;
  onHover: (address: number | undefined) => void;
}) {
  const place = useRef<HTMLDivElement>(null);
  const width = useWidth(place);
  const [spoken, setSpoken] = useState("");
  const picture = useMemo(() => pictureOf(map, state), [map, state]);
  const at = columnsOf(width, placed.length > 0);
  const { boards, height: partsHeight } = useMemo(
    () => layoutParts(picture, at.partsWidth - at.bar - 30),
    [picture, at.partsWidth, at.bar],
  );
  const height = Math.max(LEAST_HEIGHT, partsHeight);
  const space = useMemo(
    () =>
      layoutSpace(
        picture.space,
        height,
        placed.flatMap(({ from, to }) => [from, to + 1]),
      ),
    [picture, height, placed],
  );
  const { read, write } = map.whoAnswers(state, address);
  const boxes = new Map(boards.flatMap((each) => each.parts).map((each) => [each.part.name, each]));

  const choose = (to: number): void => {
    const next = Math.min(LAST, Math.max(0, to));
    onHover(undefined);
    onChoose(next);
    const found = map.whoAnswers(state, next);
    const same = found.read?.part === found.write?.part && found.read?.offset === found.write?.offset;
    const answer = same
      ? answerWords(found.read)
      : `read: ${answerWords(found.read)}; write: ${answerWords(found.write)}`;
    setSpoken(`${hexOf(next)}: ${answer}.`);
  };
  const press = (event: KeyboardEvent): void => {
    const here = space.rows.findIndex(({ from, to }) => chosen >= from && chosen <= to);
    onKeys(event, [
      ["ArrowRight", () => choose(chosen + 1)],
      ["ArrowLeft", () => choose(chosen - 1)],
      ["ArrowDown", () => choose(chosen + 256)],
      ["ArrowUp", () => choose(chosen - 256)],
      ["PageDown", () => choose(space.rows[here + 1]?.from ?? LAST)],
      ["PageUp", () => choose(space.rows[Math.max(0, chosen === space.rows[here]?.from ? here - 1 : here)]?.from ?? 0)],
      ["Home", () => choose(0)],
      ["End", () => choose(LAST)],
    ]);
  };
  /** The address under the pointer: in the space itself, or that which now shows the byte of a chip's bar. */
  const under = (event: PointerEvent<HTMLElement>): number | undefined => {
    const box = event.currentTarget.getBoundingClientRect();
    const [x, y] = [event.clientX - box.left, event.clientY - box.top - TOP];
    if (x < at.space + at.spaceWidth + 4) return y < 0 || y > height ? undefined : space.addressAt(y);
    for (const each of boxes.values()) {
      const { bar, part } = each;
      if (y < bar.y || y > bar.y + bar.height || x > at.parts + 10 + at.bar) continue;
      const byte = Math.floor(((y - bar.y) / bar.height) * part.bytes);
      const line = picture.lines.find((other) => other.part === part.name && byte >= other.first && byte <= other.last);
      if (line) return line.from + byte - line.first;
    }
    return undefined;
  };

  const ribbons = picture.lines.length > MOST_RIBBONS ? [] : picture.lines;
  const bent = (from: number, to: number, y1: number, y2: number): string => {
    const middle = (from + to) / 2;
    return `C${middle} ${y1} ${middle} ${y2} ${to} ${y2}`;
  };
  const [left, right] = [at.space + at.spaceWidth, at.parts + 10];
  const ribbon = (line: (typeof ribbons)[number]): string => {
    const box = boxes.get(line.part)!;
    const [y1, y2] = [space.yOf(line.from), space.yOf(line.to + 1)];
    const [z1, z2] = [byteY(box, line.first), byteY(box, line.last + 1)];
    return `M${left} ${y1}${bent(left, right, y1, z1)}V${z2}${bent(right, left, z2, y2)}Z`;
  };
  const answers = [read, write].filter((each): each is FullAnswer => each !== undefined);
  const addressY = space.yOf(address) + (space.yOf(address + 1) - space.yOf(address)) / 2;
  const litBoards = new Set(answers.map((each) => each.board));

  return (
    <div className="memory-picture">
      <div
        ref={place}
        className="memory-drawing"
        role="application"
        // biome-ignore lint/a11y/noNoninteractiveTabindex: an application takes the focus; the arrow keys move in it
        tabIndex={0}
        aria-label="The CPU's space beside the chips. Left and right go by one byte, up and down by 256, Page Up and Page Down from stretch to stretch, Home and End to the ends."
        aria-describedby="memory-spoken"
        onKeyDown={press}
        onPointerMove={(event) => event.pointerType !== "touch" && onHover(under(event))}
        onPointerLeave={() => onHover(undefined)}
        onPointerDown={(event) => {
          const found = under(event);
          if (found !== undefined) choose(found);
        }}
      >
        <svg
          width={width}
          height={height + TOP + 6}
          viewBox={`0 ${-TOP} ${width} ${height + TOP + 6}`}
          aria-hidden="true"
        >
          <text className="m-head" x={at.space} y={-10}>
            {at.isNarrow ? "CPU" : "what the CPU sees"}
          </text>
          <text className="m-head" x={at.parts} y={-10}>
            {at.isNarrow ? "chips" : "the chips"}
          </text>
          {boards.map((board) => (
            <BoardDrawn
              key={board.board ?? ""}
              board={board}
              x={at.parts}
              width={at.partsWidth}
              isLit={litBoards.has(board.board) && answers.length > 0}
            />
          ))}
          <g>
            {ribbons.map((line) => (
              <path
                key={`${line.from} ${line.access}`}
                className={`m-ribbon is-${boxes.get(line.part)!.part.kind}${line.access === "both" ? "" : " is-one-way"}`}
                d={ribbon(line)}
              />
            ))}
          </g>
          {[...boxes.values()].map((box) => {
            const own = answers.filter(({ part }) => part === box.part.name);
            const chips = own.flatMap((each) => each.chips);
            return (
              <PartDrawn
                key={box.part.name}
                box={box}
                at={at}
                lit={
                  new Set(chips.filter(({ bits }) => bit === undefined || bits.includes(bit)).map(({ index }) => index))
                }
                litBanks={new Set(own.map((each) => each.bank))}
                isLit={own.length > 0}
                shown={picture.lines.filter(({ part }) => part === box.part.name)}
              />
            );
          })}
          <SpaceDrawn rows={space.rows} at={at} address={address} height={height} />
          {placed.map(({ what, from, to }) => {
            const [y1, y2] = [space.yOf(from), space.yOf(to + 1)];
            return (
              <g key={`${what} ${from}`} className="m-placed">
                <rect
                  className="m-placed-box"
                  x={at.space - 10}
                  y={y1 + 0.5}
                  width={7}
                  height={Math.max(1, y2 - y1 - 1)}
                />
                {!at.isNarrow && (
                  <text className="m-placed-name" x={0} y={(y1 + y2) / 2 + 4}>
                    {cut(what, at.placed - 4)}
                  </text>
                )}
              </g>
            );
          })}
          <g className="m-mark">
            <path d={`M${at.space - 4} ${addressY}H${left}`} />
            {answers.map((each) => {
              const box = boxes.get(each.part)!;
              const y = byteY(box, each.offset + 0.5);
              return (
                <path
                  key={`${each.part} ${each.offset}`}
                  d={`M${left} ${addressY}${bent(left, right, addressY, y)}h${at.bar}`}
                />
              );
            })}
            <circle cx={left} cy={addressY} r={3.5} />
          </g>
        </svg>
      </div>
      <ul className="m-legend">
        <li>
          <span className="m-swatch is-ram" /> memory
        </li>
        <li>
          <span className="m-swatch is-window" /> behind a window
        </li>
        <li>
          <span className="m-swatch is-rom" /> ROM
        </li>
        <li>
          <span className="m-swatch is-io" /> ports
        </li>
        <li>
          <span className="m-swatch is-hole" /> nothing answers
        </li>
        <li>
          <span className="m-swatch is-clash" /> two drive the bus
        </li>
        <li>dashed: read only, or write only</li>
      </ul>
      <p id="memory-spoken" className="sr-only" role="status">
        {spoken}
      </p>
      <details>
        <summary>The same as a table</summary>
        <ScrollX name="What the CPU sees">
          <table className="rows">
            <thead>
              <tr>
                <th scope="col">Addresses</th>
                <th scope="col">What answers</th>
                <th scope="col">Which of it</th>
              </tr>
            </thead>
            <tbody>
              {space.rows.map(({ from, to, title, kind, detail }) => (
                <tr key={from}>
                  <th scope="row">
                    {hexOf(from)}–{hexOf(to)}
                  </th>
                  <td>
                    {title}
                    {kind !== "hole" && ` (${kind})`}
                  </td>
                  <td>{detail}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </ScrollX>
      </details>
    </div>
  );
}
