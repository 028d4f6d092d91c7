import type { Place, PlannedShow } from "@rouse/core/show";

/** What the server tells every prompter. */
export interface PrompterTold {
  plan: { plan: PlannedShow; ends: number | null; spare: number } | null;
  problem: string | null;
  session: { name: string; started: number; place: Place } | null;
  /** The computer's clock, ms since 1970. */
  now: number;
}
