import { hex, visible } from "../bytes/index.ts";
import type { Assembly, Cycles, ListedLine } from "./types.ts";

/** The listing as text: address, bytes, cycles (`5/6`: not taken/taken), line number and source; then errors and symbols. */
export function listingText(assembly: Assembly): string {
  const lines = assembly.listing.flatMap(listed);
  const errors = assembly.errors.map((issue) => `${issue.file}:${issue.line}:${issue.column}: ${issue.sentence}`);
  const symbols = [...assembly.symbols]
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([name, value]) => `${hex(value, value >>> 0 > 0xffff ? 8 : 4)}  ${name}`);
  return [...lines, "", ...errors.map(visible), ...(errors.length ? [""] : []), ...symbols, ""].join("\n");
}

const BYTES_A_LINE = 8;

const cyclesText = (cycles: Cycles | undefined): string => {
  if (!cycles) return "";
  return cycles.least === cycles.most ? `${cycles.least}` : `${cycles.least}/${cycles.most}`;
};

function listed({ address, bytes, cycles, line, source }: ListedLine): string[] {
  const rows: string[] = [];
  for (let at = 0; at === 0 || at < bytes.length; at += BYTES_A_LINE) {
    const place = address === undefined ? "" : hex(address + at, 4);
    const shown = Array.from(bytes.subarray(at, at + BYTES_A_LINE), (byte) => hex(byte, 2)).join(" ");
    const tail =
      at === 0
        ? `${cyclesText(cycles).padStart(5)} ${String(line).padStart(5)}  ${visible(source.replaceAll("\t", "    "))}`
        : "";
    rows.push(`${place.padEnd(4)}  ${shown.padEnd(BYTES_A_LINE * 3 - 1)} ${tail}`.trimEnd());
  }
  return rows;
}
