import type { BenchImage } from "../bench/index.ts";
import { type BlockMap, mapBlocks } from "../geometry/index.ts";
import type { Machine, TimedBench } from "../timing/index.ts";
import { buildMachine, valuesOf } from "../timing/index.ts";

/** Why a drive does not give or take a block; numbers as in docs/rehearsal.md. 0: it does. */
export const REASON = { none: 0, noDrive: 1, noBlock: 2, unreadable: 3 } as const;

/** What a request came to. Times are cycles. */
export interface Served {
  reason: number;
  /** When the controller is done with it. */
  done: number;
}

const MICRO = 1e6;

/**
 * A drive with an image on the disk in it; its mechanics are those of the timing room: head, motor, rotation, sectors as they
 * pass, bus. A drive with buffers of its own reads on behind the block it was asked for while one is free. The disk is a copy.
 */
export class DiskDrive {
  readonly image: BenchImage;
  readonly blocks: BlockMap;
  state = {
    track: 0,
    side: 0,
    loaded: false,
    /** Cycles at which the motor was switched on; −1 before. */
    motorOn: -1,
    /** When head and arm have nothing to do any more, and the block that was read last. */
    free: 0,
    last: -1,
    reads: 0,
    writes: 0,
    /** Blocks in buffers: number, when it was read, when it is gone. */
    kept: [] as { block: number; read: number; gone: number }[],
  };
  /** Blocks that were written, by number; the image itself stays as it is. */
  written = new Map<number, Uint8Array>();
  /** What the drive reaches, whatever the disk has. */
  readonly sides: number;
  readonly tracks: number;
  private readonly bytes: Uint8Array;
  private readonly machine: Machine;
  private readonly cycles: number;
  private readonly fits: boolean;

  /** `phase`: where the disk stands at power-on, a share of a turn. */
  constructor(timed: TimedBench, bytes: Uint8Array, hertz: number, phase: number) {
    const { image } = timed;
    const recording = timed.recording!;
    this.image = image;
    this.bytes = bytes;
    this.blocks = mapBlocks(recording.geometry);
    this.machine = buildMachine(recording, valuesOf(timed), timed.frameBits ?? 10, phase);
    this.cycles = hertz / MICRO;
    const { sides, tracks, codes } = timed.drive!;
    this.sides = sides?.value ?? recording.geometry.sides;
    this.tracks = tracks?.value ?? recording.geometry.tracks;
    this.fits = codes === undefined || codes.value.includes(recording.code);
  }

  /** Reads a block; where it is given, its bytes are those of `content`. */
  read(block: number, now: number): Served {
    const { machine, state } = this;
    const reason = this.reasonFor(block);
    if (reason !== REASON.none) return { reason, done: now + machine.command * this.cycles };
    state.reads++;
    if (machine.buffers === 0) {
      const done = this.passing(block, now + machine.command * this.cycles);
      state.free = done;
      state.last = block;
      return { reason, done };
    }
    this.readOn(now);
    let kept = state.kept.find((each) => each.block === block);
    if (!kept) {
      const begins = this.begins();
      // The block that is being read is waited for; anything else is given up.
      const read =
        state.last >= 0 && block === state.last + 1 && begins <= now
          ? this.passing(block, begins)
          : this.passing(block, now);
      kept = { block, read, gone: 0 };
      state.kept = [kept];
      state.free = read;
      state.last = block;
    }
    const done = Math.max(now, kept.read) + (machine.command + this.blocks.size(block) * machine.byte) * this.cycles;
    kept.gone = done;
    return { reason, done };
  }

  /** Writes a block. */
  write(block: number, bytes: Uint8Array, now: number): Served {
    const { machine, state } = this;
    const reason = this.reasonFor(block);
    const asked = now + machine.command * this.cycles;
    if (reason !== REASON.none) return { reason, done: asked };
    state.writes++;
    const moved = machine.buffers === 0 ? asked : asked + bytes.length * machine.byte * this.cycles;
    state.kept = [];
    const done = this.passing(block, moved);
    state.free = done;
    state.last = block;
    this.written.set(block, bytes.slice());
    return { reason, done };
  }

  content(block: number): Uint8Array {
    const size = this.blocks.size(block);
    const own = this.written.get(block);
    if (own) return own;
    const from = this.blocks.offset(block);
    return this.bytes.subarray(from, from + size);
  }

  private reasonFor(block: number): number {
    if (block >= this.blocks.blocks) return REASON.noBlock;
    const { track, side } = this.blocks.place(block);
    if (side >= this.sides || track >= this.tracks) return REASON.noBlock;
    if (!this.fits || this.blocks.offset(block) + this.blocks.size(block) > this.bytes.length) return REASON.unreadable;
    return REASON.none;
  }

  /** When the block behind the last one is begun by itself: when the drive and a buffer are free. */
  private begins(): number {
    const { kept, free } = this.state;
    if (kept.length < this.machine.buffers) return free;
    const [first] = kept;
    return first!.gone === 0 ? Number.POSITIVE_INFINITY : Math.max(free, first!.gone);
  }

  /** All that a drive with buffers has read by itself up to `now`. */
  private readOn(now: number): void {
    const { state } = this;
    if (state.last < 0) return;
    for (;;) {
      const block = state.last + 1;
      const begins = this.begins();
      if (begins > now || this.reasonFor(block) !== REASON.none) return;
      const read = this.passing(block, begins, now);
      if (read > now) return;
      if (state.kept.length >= this.machine.buffers) state.kept.shift();
      state.kept.push({ block, read, gone: 0 });
      state.free = read;
      state.last = block;
    }
  }

  /** Moves the head to a block from `start` on and gives the moment at which its data have passed; not moved where that is behind `until`. */
  private passing(block: number, start: number, until = Number.POSITIVE_INFINITY): number {
    const { machine, state, cycles } = this;
    const { track, side, sector } = this.blocks.place(block);
    let ready = start;
    const steps = Math.abs(track - state.track);
    if (steps > 0) ready += (steps * machine.step + machine.settle) * cycles;
    if (!state.loaded) ready = Math.max(ready, start + machine.headLoad * cycles);
    const motorOn = state.motorOn < 0 ? start : state.motorOn;
    ready = Math.max(ready, motorOn + machine.motorStart * cycles);
    const { starts, sectors, length } = machine.track(track, side);
    const place = starts[sectors.indexOf(sector)]!;
    const angle = ready / cycles + machine.phase;
    const turns = Math.ceil((angle - place) / machine.turn - TINY);
    const done = (turns * machine.turn + place - machine.phase + length) * cycles;
    if (done <= until) Object.assign(state, { track, side, loaded: true, motorOn });
    return done;
  }
}

/** Shares of a turn that arithmetic leaves over. */
const TINY = 1e-9;
