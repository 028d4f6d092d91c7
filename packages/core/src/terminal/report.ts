import type { CodeName } from "../bytes/index.ts";
import { type Ability, idealAbility } from "./ability.ts";
import { type FunctionUse, type Inventory, inventory } from "./inventory.ts";
import { rowText, Screen } from "./screen.ts";

/** What a terminal does with a function: obeys it, passes over it, or shows its bytes as garbage. */
export type Treatment = "obeyed" | "passed over" | "shown as garbage";

export interface CaptureReport {
  inventory: Inventory;
  /** Each function of the capture with what this terminal makes of it. */
  functions: readonly (FunctionUse & { treatment: Treatment })[];
  /** Names of the functions that the terminal lacks, in order of first use. */
  lacking: readonly string[];
  /** What the audience will see, in sentences; empty where it sees what the program meant. */
  audience: readonly string[];
  /** Lines of the capture that are wider than the terminal, and the widest of all. */
  wide: { lines: number; widest: number };
  /** How both screens look at the end. */
  ideal: readonly string[];
  here: readonly string[];
}

/** Done by every terminal in its own way; nothing is lost where one does nothing with the rest of C0. */
const TAB = "HT";

function treatmentOf({ kind, name }: FunctionUse, ability: Ability): Treatment {
  if (kind === "C0") return name === TAB && ability.tabs === 0 ? "passed over" : "obeyed";
  if (ability.obeys.size === 0) return "shown as garbage";
  if (kind === "string" || name === "ST") return "passed over";
  return ability.obeys.has(name) ? "obeyed" : "passed over";
}

const times = (count: number): string => (count === 1 ? "once" : `${count} times`);
const plural = (count: number, one: string): string => `${count} ${one}${count === 1 ? "" : "s"}`;

/**
 * Which functions a capture uses, which of them a terminal lacks, and what its audience will see. `ideal` is the size of
 * the screen that the program was written for.
 */
export function captureReport(
  capture: Uint8Array,
  ability: Ability,
  options: { ideal?: { columns: number; rows: number }; code?: CodeName } = {},
): CaptureReport {
  const size = options.ideal ?? { columns: 80, rows: 24 };
  const found = inventory(capture);
  const functions = found.functions.map((each) => ({ ...each, treatment: treatmentOf(each, ability) }));
  // Private functions and strings mean nothing by the standard: their absence is told, but as what it is.
  const lacking = functions.filter(({ treatment }) => treatment !== "obeyed");

  const ideal = new Screen(idealAbility(size.columns, size.rows));
  let [wideLines, widest] = [0, 0];
  const measure = (text: string): void => {
    const width = text.trimEnd().length;
    widest = Math.max(widest, width);
    if (width > ability.columns) wideLines++;
  };
  ideal.page.onScrollOff = (row) => measure(rowText(row));
  ideal.write(capture);
  for (const line of ideal.lines()) measure(line);
  const here = new Screen(ability);
  here.write(capture);

  const audience: string[] = [];
  for (const { name, title, times: count, at, example, treatment } of lacking)
    audience.push(
      treatment === "shown as garbage"
        ? `${name} (${title.toLowerCase()}), ${times(count)}, first at byte ${at[0]}: shown as characters, “${example.replace(/^\\x1B/, "")}”.`
        : `${name} (${title.toLowerCase()}), ${times(count)}, first at byte ${at[0]}: nothing happens.`,
    );
  if (ability.bits === 7 && found.functions.some(({ kind, at }) => kind !== "C0" && capture[at[0]!]! >= 0x80))
    audience.push("Functions in their 8-bit form arrive without the eighth bit and are taken for others.");
  if (ability.upperOnly && found.lowerCase > 0)
    audience.push(`${plural(found.lowerCase, "lower-case letter")} shown as capitals.`);
  if (wideLines > 0)
    audience.push(
      ability.wrap === "never"
        ? `${plural(wideLines, "line")} wider than ${ability.columns} columns (widest ${widest}): what is beyond falls on the last column.`
        : `${plural(wideLines, "line")} wider than ${ability.columns} columns (widest ${widest}): each goes on in the next row.`,
    );
  if (size.rows > ability.rows && !ability.paper && lacking.length < functions.length)
    audience.push(
      `${ability.rows} rows where the program has ${size.rows}: what is placed lower falls on the last row.`,
    );
  return {
    inventory: found,
    functions,
    lacking: lacking.map(({ name }) => name),
    audience,
    wide: { lines: wideLines, widest },
    ideal: ideal.lines(options.code),
    here: here.lines(options.code),
  };
}
