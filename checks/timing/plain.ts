import type { Machine, Op } from "@rouse/core/timing";

/**
 * The model of docs/timing.md over again, as a machine that is looked at once every microsecond. Slow and without events,
 * so that it shares neither code nor way of thinking with the simulation. Every time of the machine must be whole.
 */

interface DriveState {
  op: Op & { track: number };
  /** Microseconds of stepping, settling, head and motor still to come. */
  stepping: number;
  settling: number;
  loading: number;
  starting: number;
  /** Microseconds of the sector or turn still to pass; -1 while it waits for it. */
  passing: number;
}

interface Job {
  op: Op;
  stage: number;
  left: number;
}

export function plainTime(machine: Machine, ops: readonly Op[], most = 50_000_000): number {
  let now = 0;
  let arm = 0;
  let headLoaded = false;
  let motorOn = false;
  let next = 0;
  while (next < ops.length) {
    const run: Op[] = [];
    const kind = ops[next]!.kind;
    while (next < ops.length && ops[next]!.kind === kind) run.push(ops[next++]!);
    if (kind === "work" || kind === "line") {
      for (const op of run)
        now += op.kind === "line" ? op.characters * machine.character : op.kind === "work" ? op.time : 0;
      continue;
    }
    let drive: DriveState | undefined;
    let host: Job | undefined;
    let asked = 0; // operations that the drive has begun
    let served = 0; // operations that the host has begun
    let complete = 0;
    let taken = 0; // buffers in use
    const fromDrive: Op[] = []; // read into buffers, to be moved
    const fromHost: Op[] = []; // in buffers, to be written
    const direct = machine.buffers === 0;

    const stagesOf = (op: Op): number[] => {
      const move = "bytes" in op ? op.bytes * machine.byte : 0;
      if (direct)
        return kind === "read" ? [machine.command, -1, machine.handling] : [machine.handling, machine.command, -1];
      return kind === "read" ? [machine.command, move, machine.handling] : [machine.handling, machine.command, move];
    };
    const startDrive = (op: Op): void => {
      const target = op as Op & { track: number };
      const distance = Math.abs(target.track - arm);
      drive = {
        op: target,
        stepping: distance * machine.step,
        settling: distance > 0 ? machine.settle : 0,
        loading: headLoaded ? 0 : machine.headLoad,
        starting: motorOn ? 0 : machine.motorStart,
        passing: -1,
      };
      arm = target.track;
      headLoaded = motorOn = true;
      asked++;
    };

    for (;;) {
      // Everything that takes no time, until nothing changes any more.
      for (let changed = true; changed; ) {
        changed = false;
        if (drive && drive.passing < 0 && drive.stepping + drive.settling + drive.loading + drive.starting === 0) {
          const angle = (now + machine.phase) % machine.turn;
          if (drive.op.kind === "format") {
            if (angle === 0) {
              drive.passing = machine.turn;
              changed = true;
            }
          } else {
            const op = drive.op as Extract<Op, { sector: number }>;
            const track = machine.track(op.track, op.side);
            const place = track.starts.indexOf(angle);
            if (place >= 0 && track.sectors[place] === op.sector) {
              drive.passing = track.length;
              changed = true;
            }
          }
        }
        if (drive && drive.passing === 0) {
          const { op } = drive;
          drive = undefined;
          changed = true;
          if (kind === "format") complete++;
          else if (direct) {
            host!.stage++;
            host!.left = stagesOf(op)[host!.stage] ?? 0;
          } else if (kind === "read") fromDrive.push(op);
          else {
            taken--;
            complete++;
          }
        }
        if (host && host.left === 0) {
          changed = true;
          if (kind === "read" && !direct && host.stage === 1) taken--;
          const stages = stagesOf(host.op);
          host.stage++;
          if (host.stage >= stages.length) {
            if (direct || kind === "read") complete++;
            else fromHost.push(host.op);
            host = undefined;
          } else if (stages[host.stage] === -1) {
            host.left = -1;
            startDrive(host.op);
          } else host.left = stages[host.stage]!;
        }
        if (kind === "format" && !drive && asked < run.length) {
          startDrive(run[asked]!);
          changed = true;
        }
        if (kind === "read" && !direct) {
          if (!drive && asked < run.length && taken < machine.buffers) {
            taken++;
            startDrive(run[asked]!);
            changed = true;
          }
          if (!host && fromDrive.length > 0) {
            const op = fromDrive.shift()!;
            host = { op, stage: 0, left: machine.command };
            changed = true;
          }
        }
        if (kind === "write" && !direct) {
          if (!host && served < run.length && taken < machine.buffers) {
            taken++;
            host = { op: run[served++]!, stage: 0, left: machine.handling };
            changed = true;
          }
          if (!drive && fromHost.length > 0) {
            startDrive(fromHost.shift()!);
            changed = true;
          }
        }
        if (kind !== "format" && direct && !host && served < run.length) {
          host = { op: run[served]!, stage: 0, left: stagesOf(run[served]!)[0]! };
          served++;
          changed = true;
        }
      }
      if (complete === run.length) break;
      // One microsecond goes by.
      if (now++ > most) throw new Error("the plain model does not come to an end");
      if (host && host.left > 0) host.left--;
      if (drive) {
        if (drive.starting > 0) drive.starting--;
        if (drive.loading > 0) drive.loading--;
        if (drive.stepping > 0) drive.stepping--;
        else if (drive.settling > 0) drive.settling--;
        if (drive.passing > 0) drive.passing--;
      }
    }
  }
  return now;
}
