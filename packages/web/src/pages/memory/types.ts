import type { DecodeProof, MapFindings, PackedMemory, Room } from "@rouse/core/memory";

/** What the server gives the page. */
export interface MemoryTold {
  memory: PackedMemory;
  findings: MapFindings;
  proofs: readonly (Omit<DecodeProof, "proof"> & {
    equal: boolean | null;
    inputs: number;
    method?: string;
    difference?: { address: number; others: readonly (readonly [string, boolean])[]; first: boolean };
  })[];
  rooms: readonly { image: string; room: Room }[];
  wanted?: number;
}
