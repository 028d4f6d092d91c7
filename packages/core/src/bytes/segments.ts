import { InputError } from "../errors/index.ts";
import { hex } from "./text.ts";

/** A run of bytes at an address, as a loader or a programmer of EPROMs takes it. */
export interface Segment {
  address: number;
  bytes: Uint8Array;
}

/** What a hex file holds. `start` is the address to begin at, where the file gives one. */
export interface HexFile {
  segments: Segment[];
  start?: number;
}

/** In order of address, neighbours joined. Where two overlap, the later in the list wins. */
export function joinSegments(segments: readonly Segment[]): Segment[] {
  let apart = true;
  let before = -1;
  for (const { address, bytes } of segments) {
    if (address < before) apart = false;
    before = address + bytes.length;
  }
  return gather(apart ? segments : withoutOverlap(segments));
}

/** Joins neighbours of a list that is in order and apart. */
function gather(segments: readonly Segment[]): Segment[] {
  const out: Segment[] = [];
  for (let i = 0; i < segments.length; ) {
    const address = segments[i]!.address;
    let end = address;
    let last = i;
    while (last < segments.length && segments[last]!.address === end) end += segments[last++]!.bytes.length;
    if (last === i) last++;
    const bytes = new Uint8Array(end - address);
    for (; i < last; i++) bytes.set(segments[i]!.bytes, segments[i]!.address - address);
    if (bytes.length) out.push({ address, bytes });
  }
  return out;
}

/** Cuts the earlier of two that overlap. Segments enter last to first, each filling only what is still free. */
function withoutOverlap(segments: readonly Segment[]): Segment[] {
  const edges = segments.flatMap(({ address, bytes }, order) =>
    bytes.length
      ? [
          { at: address, order, opens: true },
          { at: address + bytes.length, order, opens: false },
        ]
      : [],
  );
  edges.sort((a, b) => a.at - b.at);
  const out: Segment[] = [];
  // A heap would be quicker for many thousands open at once; hex files open two or three.
  const open = new Set<number>();
  for (let i = 0; i + 1 < edges.length; i++) {
    const { at, order, opens } = edges[i]!;
    if (opens) open.add(order);
    else open.delete(order);
    const end = edges[i + 1]!.at;
    if (end === at || !open.size) continue;
    let top = -1;
    for (const candidate of open) if (candidate > top) top = candidate;
    const { address, bytes } = segments[top]!;
    out.push({ address: at, bytes: bytes.subarray(at - address, end - address) });
  }
  return out;
}

/** Bytes from `from` to `to` (not included), everything between the segments filled. Default: from the first to the last byte. */
export function rawImage(
  segments: readonly Segment[],
  options: { fill?: number; from?: number; to?: number } = {},
): Uint8Array {
  const ends = segments.map(({ address, bytes }) => address + bytes.length);
  const from = options.from ?? segments.reduce((least, { address }) => Math.min(least, address), Infinity);
  const to = options.to ?? ends.reduce((most, end) => Math.max(most, end), 0);
  if (!segments.length && (options.from === undefined || options.to === undefined)) return new Uint8Array();
  if (!(to >= from) || to - from > MOST_RAW)
    throw new InputError(
      "raw-size",
      `a raw image from $${hex(from, 4)} to $${hex(to, 4)} is not between 0 and 16 MiB long`,
    );
  const image = new Uint8Array(to - from).fill(options.fill ?? 0xff);
  for (const { address, bytes } of segments) {
    const first = Math.max(0, from - address);
    const last = Math.min(bytes.length, to - address);
    if (last > first) image.set(bytes.subarray(first, last), address + first - from);
  }
  return image;
}

const MOST_RAW = 1 << 24;
