import { dump } from "@rouse/core/bytes";
import { useEffect, useRef, useState } from "react";
import type { LineStream, Passed } from "./stream.ts";

/** Rows that are shown; the capture has them all. */
const SHOWN = 240;
const WIDTH = 16;
/** Ms between bytes of one row at most. */
const TOGETHER = 1000;
const DRAWN_EVERY = 120;

interface HexRow {
  key: number;
  time: string;
  way: string;
  hex: string;
  text: string;
}

const WAYS: Readonly<Record<Passed["kind"], string>> = {
  in: "← in",
  out: "→ out",
  "file in": "← file",
  "file out": "→ file",
};
const two = (value: number): string => String(value).padStart(2, "0");
const clock = (time: number): string => {
  const at = new Date(time);
  return `${two(at.getHours())}:${two(at.getMinutes())}:${two(at.getSeconds())}.${String(at.getMilliseconds()).padStart(3, "0")}`;
};

/**
 * Rows of the last bytes: what went the same way in quick succession stands together, cut where the count of all bytes is
 * a multiple of the width, so that rows stay as they are while more comes.
 */
export function hexRows(kept: readonly Passed[], shown = SHOWN): HexRow[] {
  const rows: { kind: Passed["kind"]; position: number; time: number; bytes: number[] }[] = [];
  let from = kept.length;
  // A row holds one byte at least.
  for (let bytes = 0; from > 0 && (bytes < shown * WIDTH || kept.length - from < shown); from--)
    bytes += kept[from - 1]!.bytes.length;
  for (const { kind, position, time, bytes } of kept.slice(from))
    for (const [index, byte] of bytes.entries()) {
      const at = position + index;
      const row = rows.at(-1);
      if (row?.kind === kind && at % WIDTH !== 0 && time - row.time < TOGETHER) row.bytes.push(byte);
      else rows.push({ kind, position: at, time, bytes: [byte] });
    }
  return rows.slice(-shown).flatMap(({ kind, position, time, bytes }) =>
    dump(Uint8Array.from(bytes)).map(({ hex, text }) => ({
      key: position,
      time: clock(time),
      way: WAYS[kind],
      hex,
      text,
    })),
  );
}

/** Both directions, byte by byte. */
export function HexView({ stream }: { stream: LineStream }) {
  const [rows, setRows] = useState<readonly HexRow[]>([]);
  const end = useRef<HTMLElement>(null);
  useEffect(() => {
    let timer: ReturnType<typeof setTimeout> | undefined;
    const draw = (): void => {
      timer = undefined;
      setRows(hexRows(stream.kept));
    };
    draw();
    const leave = stream.subscribe(() => {
      timer ??= setTimeout(draw, DRAWN_EVERY);
    });
    return () => {
      leave();
      clearTimeout(timer);
    };
  }, [stream]);
  // biome-ignore lint/correctness/useExhaustiveDependencies: follows what comes
  useEffect(() => {
    const place = end.current;
    if (place) place.scrollTop = place.scrollHeight;
  }, [rows]);
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: it scrolls, so keys must reach it
    <section ref={end} className="line-hex" aria-label="Bytes in hex" tabIndex={0}>
      <table className="rows">
        <thead>
          <tr>
            <th scope="col">Time</th>
            <th scope="col">Way</th>
            <th scope="col">Bytes</th>
            <th scope="col">Text</th>
          </tr>
        </thead>
        <tbody>
          {rows.map(({ key, time, way, hex, text }) => (
            <tr key={key}>
              <td>{time}</td>
              <td>{way}</td>
              <td>{hex}</td>
              <td>{text}</td>
            </tr>
          ))}
        </tbody>
      </table>
      {rows.length === 0 && <p className="quiet">Nothing has passed yet.</p>}
    </section>
  );
}
