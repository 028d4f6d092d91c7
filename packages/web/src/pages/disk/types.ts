import type { Recording } from "@rouse/core/catalogue";
import type { Quantity } from "@rouse/core/quantity";
import type { Edges, RecoveredSector } from "@rouse/core/recording";

/** What the server knows of the job's disks. */
export interface DiskChoices {
  images: readonly {
    name: string;
    /** In `images/`. */
    file: string;
    recording: string | null;
    drive: string | null;
    rotation: Quantity | null;
    interleave: number | null;
  }[];
  recordings: readonly Recording[];
}

/** What the worker is asked: which track it is, or null where that is to be found out. */
export interface RecoverAsked {
  bytes: Uint8Array;
  recordings: readonly Recording[];
  wish: { recording: string; track: number; side: 0 | 1 } | null;
  edges: Edges;
  decoder: "loop" | "fixed window";
}

/** A recovered track in plain numbers: µs, shares, and ms and % for the curve. */
export interface RecoveredTold {
  notes: readonly string[];
  transitions: number;
  found: { title: string; track: number; side: number; why: string; others: readonly string[] };
  turns: { count: number; seconds: number; by: string };
  cellMicroseconds: number;
  intervals: { to: number; counts: readonly number[]; longer: number };
  speed: { points: readonly { x: number; y: number }[]; mean: number; least: number; most: number };
  margin: { counts: readonly number[]; rms: number; margin: number };
  sectors: readonly (Pick<
    RecoveredSector,
    "sector" | "basis" | "idBasis" | "turnsRead" | "turnsGood" | "deleted" | "rests"
  > & { weakBytes: number })[];
  unnamed: number;
  strays: number;
  /** Seconds that the recovery took, and that the capture lasts. */
  took: number;
  lasts: number;
}
