import type { Lane, Machine, Op, Span, TrackTimes } from "./machine.ts";
import { EventQueue } from "./queue.ts";

/** Times that differ by less than this many microseconds are one; arithmetic on fractions leaves such remainders. */
const EQUAL = 1e-6;

const STEP = 0;
const SETTLED = 1;
const HEAD = 2;
const MOTOR = 3;
const ID = 4;
const PASSED = 5;
const INDEX = 6;
const HOST = 7;

/** What the host (bus and CPU) is busy with. */
const IDLE = 0;
const COMMANDING = 1;
const MOVING = 2;
const HANDLING = 3;
const BESIDE = 4;

export interface Simulated {
  /** Microseconds until the last thing was done. */
  time: number;
  /** Sectors that pass unwanted are counted too. */
  events: number;
  spans: Span[];
  /** Start and end of each part, in microseconds. */
  parts: { start: number; end: number }[];
}

/**
 * Runs a job. Consecutive operations of one kind overlap as far as buffers allow; an operation of another kind waits
 * until all before it is done. With `record`, every stretch of time is kept.
 */
export function simulate(machine: Machine, ops: readonly Op[], record = false): Simulated {
  const { turn, phase, step, settle, headLoad, motorStart, command, byte, handling, character } = machine;
  const queue = new EventQueue();
  const spans: Span[] = [];
  const parts: { start: number; end: number }[] = [];
  let events = 0;

  let head = 0;
  let loaded = false;
  let turning = false;

  /** The run of operations of one kind that is going on: from `first` up to `end`. */
  let end = 0;
  /** Next operation of the run for the drive and for the host. */
  let toDrive = 0;
  let toHost = 0;
  let free = 0;
  let kind: Op["kind"] = "read";
  const direct = machine.buffers === 0;

  let driving = false;
  let waits = 0;
  let started = 0;
  let readyAt = 0;
  let wanted = -1;
  let times: TrackTimes | undefined;

  let host = IDLE;
  let hostSince = 0;

  const span = (lane: Lane, name: string, start: number, part: number): void => {
    if (record && queue.now > start) spans.push({ lane, name, start, length: queue.now - start, part });
  };
  const begins = (part: number): void => {
    const known = parts[part];
    if (known) known.start = Math.min(known.start, queue.now);
    else parts[part] = { start: queue.now, end: queue.now };
  };
  const busy = (doing: number, time: number): void => {
    host = doing;
    hostSince = queue.now;
    queue.put(queue.now + time, HOST);
  };
  const done = (op: Op): void => {
    parts[op.part]!.end = queue.now;
  };

  function startRun(): void {
    toDrive = toHost = end;
    free = machine.buffers;
    kind = ops[end]!.kind;
    while (end < ops.length && ops[end]!.kind === kind) end++;
    advance();
  }

  /** Begins whatever can begin. */
  function advance(): void {
    const more = toHost < end;
    if (kind === "read" && !direct) {
      if (!driving && toDrive < end && free > 0) {
        free--;
        drive();
      }
      // What the drive has begun but not finished is not there to be moved yet.
      if (host === IDLE && toHost < toDrive - (driving ? 1 : 0)) busy(COMMANDING, command);
    } else if (kind === "format") {
      if (!driving && toDrive < end) drive();
    } else if (kind === "write" && !direct) {
      if (host === IDLE && more && free > 0) {
        free--;
        begins(ops[toHost]!.part);
        busy(HANDLING, handling);
      }
      if (!driving && toDrive < toHost) drive();
    } else if (host === IDLE && more && !driving) {
      const op = ops[toHost]!;
      begins(op.part);
      if (op.kind === "line") busy(BESIDE, op.characters * character);
      else if (op.kind === "work") busy(BESIDE, op.time);
      else if (op.kind === "read") busy(COMMANDING, command);
      else busy(HANDLING, handling);
    }
  }

  /** Sends the drive to the next operation: motor, head and arm set off at once. */
  function drive(): void {
    const op = ops[toDrive++] as Extract<Op, { track: number }>;
    begins(op.part);
    driving = true;
    started = queue.now;
    waits = 1;
    if (!turning) {
      waits++;
      queue.put(queue.now + motorStart, MOTOR);
    }
    if (!loaded) {
      waits++;
      queue.put(queue.now + headLoad, HEAD);
    }
    wanted = op.kind === "format" ? -1 : op.sector;
    if (head !== op.track) queue.put(queue.now + step, STEP);
    else arrived();
  }

  /** One of motor, head and arm is there; with the last of them, the drive looks for its sector. */
  function arrived(): void {
    if (--waits > 0) return;
    const op = ops[toDrive - 1] as Extract<Op, { track: number }>;
    readyAt = queue.now;
    const since = readyAt + phase;
    let round = Math.floor((since + EQUAL) / turn);
    const within = since - round * turn;
    if (wanted < 0) {
      if (within > EQUAL) round++;
      queue.put(Math.max(readyAt, round * turn - phase), INDEX);
      return;
    }
    times = machine.track(op.track, op.side);
    const { starts, sectors } = times;
    let place = 0;
    while (place < starts.length && starts[place]! < within - EQUAL) place++;
    // Other sectors that pass change nothing: they are counted, not queued.
    for (; place === starts.length || sectors[place] !== wanted; place++) {
      if (place < starts.length) events++;
      else {
        place = -1;
        round++;
      }
    }
    queue.put(Math.max(readyAt, round * turn + starts[place]! - phase), ID);
  }

  /** Deals with an event; false where the drive goes on by itself, so that nothing else can begin. */
  function handle(event: number): boolean {
    if (event === HOST) {
      hostDone();
      return true;
    }
    const op = ops[toDrive - 1] as Extract<Op, { track: number }>;
    switch (event) {
      case STEP:
        head += head < op.track ? 1 : -1;
        if (head !== op.track) queue.put(queue.now + step, STEP);
        else {
          span("arm", "step", started, op.part);
          if (settle > 0) queue.put(queue.now + settle, SETTLED);
          else arrived();
        }
        return false;
      case SETTLED:
        span("arm", "settle", queue.now - settle, op.part);
        arrived();
        return false;
      case HEAD:
        loaded = true;
        span("head", "load", started, op.part);
        arrived();
        return false;
      case MOTOR:
        turning = true;
        span("motor", "start", started, op.part);
        arrived();
        return false;
      case ID:
        span("disk", "wait", readyAt, op.part);
        queue.put(queue.now + times!.length, PASSED);
        return false;
      case INDEX:
        span("disk", "wait", readyAt, op.part);
        queue.put(queue.now + turn, PASSED);
        return false;
      default:
        driving = false;
        span("disk", kind, queue.now - (kind === "format" ? turn : times!.length), op.part);
        if (kind === "read") {
          if (direct) busy(HANDLING, handling);
          return true;
        }
        free++;
        if (direct) toHost++;
        done(op);
        return true;
    }
  }

  function hostDone(): void {
    const op = ops[toHost]!;
    const was = host;
    host = IDLE;
    if (was === BESIDE) {
      span(op.kind === "line" ? "line" : "CPU", op.kind === "line" ? "send" : "work", hostSince, op.part);
      toHost++;
      done(op);
    } else if (was === COMMANDING) {
      span("bus", "ask", hostSince, op.part);
      if (direct) drive();
      else busy(MOVING, "bytes" in op ? op.bytes * byte : 0);
    } else if (was === MOVING) {
      span("bus", "move", hostSince, op.part);
      if (kind === "read") {
        free++;
        busy(HANDLING, handling);
      } else toHost++;
    } else {
      span("CPU", kind === "read" ? "handle" : "prepare", hostSince, op.part);
      if (kind === "read") {
        toHost++;
        done(op);
      } else busy(COMMANDING, command);
    }
  }

  // Whatever goes on has an event to come: with none left, the run is done.
  for (;;) {
    const event = queue.take();
    if (event >= 0) {
      events++;
      if (handle(event)) advance();
    } else if (end < ops.length) startRun();
    else return { time: queue.now, events, spans, parts };
  }
}
