import { InputError } from "@rouse/core/errors";
import {
  analyse,
  type DecodeProof,
  type MapFindings,
  memoryMapOf,
  type PackedMemory,
  packMemory,
  proveDecoding,
  type Room,
  roomsOf,
} from "@rouse/core/memory";
import { Hono } from "hono";
import type { Job } from "../store/index.ts";
import type { ServerEnv } from "./guard.ts";
import { checkedJobs } from "./job-timing.ts";

/** A proof as JSON carries it: the other inputs at the first difference as pairs. */
type ProofTold = Omit<DecodeProof, "proof"> & {
  equal: boolean | null;
  inputs: number;
  method?: string;
  difference?: { address: number; others: readonly (readonly [string, boolean])[]; first: boolean };
};

interface MemoryTold {
  memory: PackedMemory;
  findings: MapFindings;
  proofs: readonly ProofTold[];
  rooms: readonly { image: string; room: Room }[];
  /** Logins that the show wants. */
  wanted?: number;
}

function toldOf({ proof, ...rest }: DecodeProof): ProofTold {
  const { equal, inputs } = proof;
  if (equal === undefined) return { ...rest, equal: null, inputs };
  const { method } = proof;
  if (equal) return { ...rest, equal, inputs, method };
  const { address, others, first } = proof;
  return { ...rest, equal, inputs, method, difference: { address, others: [...others], first } };
}

/**
 * Route of the memory page. The page makes the map itself, of what this gives it, and asks nothing more as its latches move.
 *
 *     GET memory   MemoryTold
 */
export function createMemoryApi(job: Job): Hono<ServerEnv> {
  const api = new Hono<ServerEnv>();
  const checkedNow = checkedJobs(job);
  api.get("/memory", async (c) => {
    const { checked } = await checkedNow();
    const { bench, images } = checked;
    if (!bench) throw new InputError("bad-bench", "The bench file cannot be used; the page Bench file shows why.");
    const map = memoryMapOf(bench);
    if (!map)
      throw new InputError(
        "no-memory",
        "This bench does not describe the computer's memory; describe it under computer.memory.",
      );
    const wanted = bench.show?.logins;
    const told: MemoryTold = {
      memory: packMemory(map.computer),
      findings: analyse(map),
      proofs: proveDecoding(map).map(toldOf),
      rooms: roomsOf(map, images, bench),
      ...(wanted === undefined ? {} : { wanted }),
    };
    return c.json(told);
  });
  return api;
}
