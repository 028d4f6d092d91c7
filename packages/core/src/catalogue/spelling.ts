import type { Catalogue, Chip } from "./types.ts";

/** Letters of a package, after a part number: they change nothing that the catalogue holds. */
const PACKAGE = /(?:PC|DC|CP|CT|CV|CK|CN|NT|PE|EPE|CPE|CPU|[CDJKLNPST])$/;
/** Letters of a maker before a part number. */
const MAKER = /^[A-Z]{1,4}(?=\d)/;
/** A revision letter, which in this logic family leaves the ratings alone. */
const REVISION = /^((?:74)?LS\d{2,3})[AB]$/;
/** A speed grade after a hyphen: "-15", "-4", "-L2". */
const GRADE = /-[A-Z]?\d{1,3}$/;

/** Issues of a part that share its ratings (common practice, no source). */
const SAME: Readonly<Record<string, string>> = {
  "8080": "8080A",
  "8085": "8085A",
  "8085AH": "8085A",
  "8255": "8255A",
  "6551A": "6551",
  "6522A": "6522",
};

const tidy = (name: string): string =>
  name
    .trim()
    .replaceAll(/[\u00b5\u03bc]/g, "u")
    .toUpperCase()
    .replaceAll(/[\s_/.]/g, "");

const indexes = new WeakMap<Catalogue, Map<string, string>>();

/** Spellings of every part: its own name, without a maker's letters, and logic without the leading 74. */
function spellings(catalogue: Catalogue): Map<string, string> {
  const known = indexes.get(catalogue);
  if (known) return known;
  const index = new Map<string, string>();
  for (const part of catalogue.chips.keys()) index.set(tidy(part), part);
  for (const [same, part] of Object.entries(SAME)) if (!index.has(same)) index.set(same, part);
  for (const part of catalogue.chips.keys()) {
    const bare = tidy(part).replace(MAKER, "");
    for (const spelling of [bare, bare.replace(/^74(?=LS)/, ""), bare.replaceAll("-", "")])
      if (!index.has(spelling)) index.set(spelling, part);
  }
  indexes.set(catalogue, index);
  return index;
}

/**
 * The chip that a part number means, in the spellings that are printed on chips and written in lists: `LS244`,
 * `SN74LS244N`, `MC6850P`, `Z80A-CPU`. A speed grade that the catalogue doesn't hold gives the plain part only where
 * that claims no speed. What isn't known stays `undefined`.
 */
export function findChip(catalogue: Catalogue, part: string): Chip | undefined {
  const exact = catalogue.chips.get(part);
  if (exact) return exact;
  const index = spellings(catalogue);
  const name = tidy(part);
  if (name.length === 0 || name.length > 32) return undefined;
  const found = (each: string): string | undefined => {
    for (const spelling of [each, each.replace(REVISION, "$1")]) {
      const whole = index.get(spelling) ?? index.get(spelling.replace(MAKER, ""));
      if (whole) return whole;
      const bare = spelling.replace(MAKER, "").replace(REVISION, "$1");
      if (index.has(bare)) return index.get(bare);
    }
    return undefined;
  };
  const bare = (each: string): string => each.replace(PACKAGE, "").replace(/-$/, "");
  const direct = found(name) ?? found(bare(name));
  if (direct) return catalogue.chips.get(direct);
  if (!GRADE.test(name)) return undefined;
  const ungraded = name.replace(GRADE, "");
  const plain = found(ungraded) ?? found(bare(ungraded));
  const chip = plain === undefined ? undefined : catalogue.chips.get(plain);
  return chip?.memory?.access || chip?.cpu?.clockMax ? undefined : chip;
}
