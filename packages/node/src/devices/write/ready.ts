import type { Bench } from "@rouse/core/bench";
import type { Certificate } from "./certificate.ts";
import type { DeviceOpener } from "./device.ts";
import { type PlannedWrite, planWrite, refuseChanged, runWrite, type World, type WriteRequest } from "./session.ts";
import { type AdapterRequest, planAdapter, refuseOtherImage, runThroughAdapter } from "./through-adapter.ts";

/** A plan with what carries it out. */
export interface ReadyWrite {
  plan: PlannedWrite;
  /** Throws an `InputError` where image or target changed while the person was asked. */
  recheck(): Promise<void>;
  run(world: World): Promise<Certificate>;
}

/** Plans a write to a block device or file; opens nothing for writing. */
export async function readyTarget(request: WriteRequest, opener: DeviceOpener, now: () => Date): Promise<ReadyWrite> {
  const plan = await planWrite(request, opener, now);
  return { plan, recheck: () => refuseChanged(plan, opener), run: (world) => runWrite(plan, opener, world) };
}

/** Plans a write through an adapter of the bench file; starts nothing. */
export async function readyAdapter(request: AdapterRequest, bench: Bench, now: () => Date): Promise<ReadyWrite> {
  const plan = await planAdapter(request, bench, now);
  return { plan, recheck: () => refuseOtherImage(plan), run: (world) => runThroughAdapter(plan, world) };
}
