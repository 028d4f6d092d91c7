import type { TranslationSpace, WindowSpace } from "./spaces.ts";
import type { Mark, Step } from "./types.ts";

const PAGE = 256;

/** Tests by marks: a byte in each of several places, and then whether each place still holds its own. */

const complement = (marks: readonly Mark[]): Mark[] =>
  [...marks].reverse().map((each) => ({ ...each, byte: ~each.byte & 0xff }));

/** Marks written upwards and read, then their complements downwards and read. */
function bothWays(marks: readonly Mark[], port: boolean): Step[] {
  const other = complement(marks);
  return [
    { kind: "write marks", marks, port },
    { kind: "read marks", element: 1, marks, port, mask: 0xff },
    { kind: "write marks", marks: other, port },
    { kind: "read marks", element: 2, marks: other, port, mask: 0xff },
  ];
}

/**
 * Address lines: a mark at the first address and at each that differs from it in one line. Where a line is dead, or shorted to
 * another, two of them are one place, and what is read says which.
 */
export function addressSteps(stretches: readonly { from: number; to: number }[]): Step[] {
  const inside = (address: number) => stretches.some(({ from, to }) => from <= address && address <= to);
  // Of the stretches' ends the one from which most lines lead to memory.
  const linesFrom = (from: number) =>
    Array.from({ length: 16 }, (_, line) => line).filter((line) => inside(from ^ (1 << line)));
  const [from] = stretches
    .flatMap((each) => [each.from, (each.from + PAGE - 1) & -PAGE])
    .filter(inside)
    .sort((a, b) => linesFrom(b).length - linesFrom(a).length);
  if (from === undefined) return [];
  const marks: Mark[] = [
    { address: from, byte: 0x80 },
    ...linesFrom(from).map((line): Mark => ({ address: from ^ (1 << line), byte: 0x80 + 1 + line })),
  ];
  return bothWays(marks, false);
}

/** Every bank is there once: none missing, none answering for another, nor for main memory. */
export function viewSteps({ space, select }: WindowSpace, main: readonly { from: number; to: number }[]): Step[] {
  const [stretch] = space.stretches;
  if (!stretch?.views) return [];
  const { from, views } = stretch;
  const size = stretch.to - from + 1;
  const banks = bankMarks(from, views, select.at);
  // Where the select of the banks' chips fails, a bank may be found in main memory's: at the same cell of another row.
  const others: Mark[] = [];
  for (let at = 0; at < 0x1_0000; at += size)
    if (main.some((each) => each.from <= at && at <= each.to)) others.push({ address: at, byte: 0xc0 + others.length });
  const steps = bothWays(banks, select.port);
  if (others.length === 0) return steps;
  return [
    { kind: "write marks", marks: others, port: false },
    ...steps,
    { kind: "read marks", element: 3, marks: others, port: false, mask: 0xff },
  ];
}

const bankMarks = (address: number, views: { first: number; last: number }, at: number): Mark[] =>
  Array.from({ length: views.last - views.first + 1 }, (_, index): Mark => {
    const number = views.first + index;
    return { show: { at, value: number }, view: number, address, byte: number };
  });

/** Numbers up to which every change from one to another is tried; above, those of one bit. */
const MOST_CHANGED = 16;

/** Numbers 0 to `count` − 1 in an order that goes from each to each other once. */
function everyChange(count: number): number[] {
  const order: number[] = [];
  const visit = (from: number): void => {
    order.push(from);
    for (let to = from + 1; to < count; to++) {
      if (to === from + 1) visit(to);
      else order.push(to);
      order.push(from);
    }
  };
  visit(0);
  return order;
}

/** Numbers in an order that changes each bit of each number both ways. */
function bitChanges(count: number): number[] {
  const order: number[] = [];
  for (let from = 0; from < count; from++)
    for (let bit = 1; bit < count; bit *= 2) if ((from ^ bit) < count) order.push(from, from ^ bit);
  return order;
}

/** The latch of a window: each bit is taken, whatever was there before, held for a while, and read back where it can be. */
export function latchSteps(
  { space, select }: WindowSpace,
  latch: { bits: number; readable?: boolean },
  seconds: number,
): Step[] {
  const [stretch] = space.stretches;
  if (!stretch?.views) return [];
  const { from, views } = stretch;
  const marks = bankMarks(from, views, select.at);
  const count = marks.length;
  const order = count <= MOST_CHANGED ? everyChange(count) : bitChanges(count);
  const steps: Step[] = [
    { kind: "write marks", marks, port: select.port },
    { kind: "read marks", element: 1, marks: order.map((each) => marks[each]!), port: select.port, mask: 0xff },
  ];
  // All bits that can be 1, and then none, each held for a while.
  for (const [index, number] of [2 ** Math.floor(Math.log2(count)) - 1, 0].entries())
    steps.push(
      {
        kind: "pokes",
        pokes: [{ at: select.at, port: select.port, value: number, meaning: `bank ${number}` }],
      },
      { kind: "wait", seconds },
      {
        kind: "read marks",
        element: 2 + index,
        marks: [{ address: from, byte: number, view: number }],
        port: select.port,
        mask: 0xff,
      },
    );
  if (latch.readable && !select.port) {
    const mask = 2 ** latch.bits - 1;
    steps.push({
      kind: "read marks",
      element: 4,
      marks: Array.from({ length: 2 ** latch.bits }, (_, value) => ({
        show: { at: select.at, value },
        view: value,
        address: select.at,
        byte: value & mask,
      })),
      port: false,
      mask,
    });
  }
  return steps;
}

/** More turns than any table of 16 entries of 8 bits needs. */
const MOST_TURNS = 8;

/** Turns of the numbers after which every bit of every entry has been 0 and 1, as far as the numbers have both. */
function turnsFor(
  numbers: readonly number[],
  slots: readonly number[],
  tasks: number,
  shownBy: (slot: number, task: number, turn: number) => number,
): number[] {
  const wanted = new Set<string>();
  const seenBy = (turn: number): string[] =>
    Array.from({ length: tasks }, (_, task) => task).flatMap((task) =>
      slots.flatMap((slot) =>
        [0, 1, 2, 3, 4, 5, 6, 7].map((bit) => `${task} ${slot} ${bit} ${(shownBy(slot, task, turn) >> bit) & 1}`),
      ),
    );
  const every = numbers.map((_, turn) => seenBy(turn));
  for (const each of every.flat()) wanted.add(each);
  const turns: number[] = [];
  while (wanted.size > 0 && turns.length < MOST_TURNS) {
    let best = 0;
    let most = 0;
    for (const [turn, seen] of every.entries()) {
      const fresh = seen.filter((each) => wanted.has(each)).length;
      if (fresh > most) [best, most] = [turn, fresh];
    }
    turns.push(best);
    for (const each of every[best]!) wanted.delete(each);
  }
  return turns;
}

/** Every block is there once; every entry of every map holds every bit; the maps are apart. */
export function translationSteps(found: TranslationSpace): { blocks: Step[]; maps: Step[] } {
  const { frame, block, at, slots, latch, tasks, space } = found;
  // In the middle of a block, where no program keeps anything.
  const inside = block / 2;
  const numbers = space.stretches.flatMap(({ views }) =>
    views ? Array.from({ length: views.last - views.first + 1 }, (_, index) => views.first + index) : [],
  );
  const marks = numbers.map(
    (number): Mark => ({
      show: { at: found.select.at, value: number },
      view: number,
      address: frame + inside,
      byte: number,
    }),
  );
  const blocks = bothWays(marks, false);
  // Each bit of an entry alone, and all of them: as far as there are blocks.
  const singles = numbers.filter((each) => (each & (each - 1)) === 0 || each === numbers.at(-1));
  const entries = slots.flatMap((slot) =>
    singles.map(
      (number): Mark => ({
        show: { at: at + slot, value: number },
        view: number,
        address: slot * block + inside,
        byte: number,
      }),
    ),
  );
  const maps: Step[] = [
    { kind: "write marks", marks, port: false },
    { kind: "read marks", element: 1, marks: entries, port: false, mask: 0xff },
  ];
  // All entries of all maps at once, each map turned by another number, then each map in use.
  const shownBy = (slot: number, task: number, turn: number) => numbers[(slot + turn + 5 * task) % numbers.length]!;
  const turns = turnsFor(numbers, slots, tasks, shownBy);
  for (const [index, turn] of turns.entries()) {
    for (let task = 0; task < tasks; task++)
      maps.push({
        kind: "pokes",
        pokes: [
          ...(latch
            ? [{ at: latch.at, port: false, value: latch.on(0, task), meaning: `map ${task} is written` }]
            : []),
          ...slots.map((slot) => ({
            at: at + slot,
            port: false,
            value: shownBy(slot, task, turn),
            meaning: `block ${shownBy(slot, task, turn)} behind logical block ${slot}`,
          })),
        ],
      });
    for (let task = 0; task < tasks; task++) {
      const read = slots.map(
        (slot): Mark => ({
          view: shownBy(slot, task, turn),
          address: slot * block + inside,
          byte: shownBy(slot, task, turn),
        }),
      );
      if (latch)
        maps.push({
          kind: "pokes",
          pokes: [{ at: latch.at, port: false, value: latch.on(task, 0), meaning: `map ${task} is used` }],
        });
      maps.push({ kind: "read marks", element: 2 + index * tasks + task, marks: read, port: false, mask: 0xff });
    }
  }
  return { blocks, maps };
}
