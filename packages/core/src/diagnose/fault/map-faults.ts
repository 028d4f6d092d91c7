import type { MapState } from "../../memory/index.ts";

/** Faults of what decides which byte answers: bank latches, and the tables and latch of a translation board. */
export type MapFault =
  /** A bit of a latch's output, by the latch's name. */
  | { readonly kind: "latch"; readonly latch: string; readonly bit: number; readonly value: 0 | 1 }
  /** Two outputs of a latch joined. */
  | {
      readonly kind: "latch-short";
      readonly latch: string;
      readonly bits: readonly [number, number];
      readonly wired: "and" | "or";
    }
  /** Translation never switches on, or never off. */
  | { readonly kind: "enable"; readonly value: 0 | 1 }
  /** A bit of the number of the map that the CPU uses. */
  | { readonly kind: "task"; readonly bit: number; readonly value: 0 | 1 }
  /** A bit that comes out of the block tables, for every entry. */
  | { readonly kind: "block-line"; readonly bit: number; readonly value: 0 | 1 }
  /** One bit of one entry of one table. */
  | {
      readonly kind: "block-cell";
      readonly map: number;
      readonly entry: number;
      readonly bit: number;
      readonly value: 0 | 1;
    }
  /** A bit of the number of the entry: an address line into the tables. */
  | { readonly kind: "entry-line"; readonly bit: number; readonly value: 0 | 1 };

/** What the CPU sees where the latches should hold `state`. */
export function seenThrough(fault: MapFault, state: MapState): MapState {
  const { latches, translation } = state;
  const forced = (number: number, bit: number, value: 0 | 1) => (value ? number | (1 << bit) : number & ~(1 << bit));
  switch (fault.kind) {
    case "latch":
      return {
        ...state,
        latches: { ...latches, [fault.latch]: forced(latches[fault.latch] ?? 0, fault.bit, fault.value) },
      };
    case "latch-short": {
      const held = latches[fault.latch] ?? 0;
      const both = (1 << fault.bits[0]) | (1 << fault.bits[1]);
      const high = fault.wired === "and" ? (held & both) === both : (held & both) !== 0;
      return { ...state, latches: { ...latches, [fault.latch]: high ? held | both : held & ~both } };
    }
    case "enable":
      return translation ? { ...state, translation: { ...translation, on: fault.value === 1 } } : state;
    case "task":
      if (!translation) return state;
      return {
        ...state,
        translation: {
          ...translation,
          task: forced(translation.task, fault.bit, fault.value) % translation.maps.length,
        },
      };
    case "block-line":
    case "block-cell":
    case "entry-line":
      if (!translation) return state;
      return {
        ...state,
        translation: {
          ...translation,
          maps: translation.maps.map((map, number) =>
            map.map((block, entry) => {
              if (fault.kind === "block-line") return forced(block, fault.bit, fault.value);
              if (fault.kind === "entry-line") return map[forced(entry, fault.bit, fault.value)] ?? block;
              return number === fault.map && entry === fault.entry ? forced(block, fault.bit, fault.value) : block;
            }),
          ),
        },
      };
  }
}
