import { causeOf, type Kit } from "../kit.ts";
import type { Cause } from "../types.ts";
import { boardCauses, chipCauses } from "./chips.ts";
import { diskCauses } from "./disk.ts";
import { lineCauses } from "./line.ts";
import { supplyCauses } from "./supply.ts";

/** Every cause that this bench has parts for. Two of the same id are told apart by a number. */
export function causesOf(kit: Kit): Cause[] {
  const seen = new Map<string, number>();
  return [...supplyCauses(kit), ...chipCauses(kit), ...boardCauses(kit), ...lineCauses(kit), ...diskCauses(kit)].map(
    (draft) => {
      const count = (seen.get(draft.id) ?? 0) + 1;
      seen.set(draft.id, count);
      return causeOf(count === 1 ? draft : { ...draft, id: `${draft.id} ${count}` });
    },
  );
}
