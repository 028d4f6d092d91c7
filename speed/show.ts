import { asciiBytes } from "@rouse/core/bytes";
import { captureHead, captureLine, readCapture, SessionScreens } from "@rouse/core/show";
import { idealAbility } from "@rouse/core/terminal";
import { atMost, type Measured } from "./types.ts";

/** A session of 24 hours, opened and sought in. User time, which other work on the machine changes little; the median of runs. */

const RUNS = 7;
const HOURS = 24;

/** A line of some forty characters every two seconds, in the pieces of 24 bytes that 2,400 bit/s brings in 0.1 s. */
function session(): Uint8Array {
  const parts = [captureHead({ started: "2026-06-06T10:00:00Z", port: "none", rate: 2400, frame: "7E1" })];
  for (let second = 0; second < HOURS * 3600; second += 2) {
    const line = asciiBytes(
      `${second % 60 === 0 ? "\u001b[7m" : "\u001b[m"}${second} a tern flies low along the shore\r\n`,
    );
    for (let at = 0; at < line.length; at += 24)
      parts.push(captureLine({ t: second + at / 240, in: line.subarray(at, at + 24) }));
  }
  return asciiBytes(parts.join(""));
}

const userMs = (what: () => void): number => {
  const before = process.cpuUsage();
  what();
  return process.cpuUsage(before).user / 1000;
};
const median = (values: readonly number[]): number => [...values].sort((a, b) => a - b)[values.length >> 1]!;

export async function run(): Promise<readonly Measured[]> {
  const bytes = session();
  const ability = idealAbility(80, 24);
  let opened: SessionScreens | undefined;
  const opening = Array.from({ length: RUNS }, () =>
    userMs(() => {
      opened = new SessionScreens(readCapture(bytes), ability);
    }),
  );
  const { seconds } = opened!;
  const seeking = Array.from({ length: 60 }, (_, k) => {
    const to = ((k * 37) % 60) * (seconds / 59);
    return userMs(() => {
      if (opened!.at(to).rows !== 24) throw new Error("that is no screen");
    });
  });
  return [
    atMost(`a session of ${HOURS} hours, opened`, median(opening), 2000, "ms"),
    atMost("the same, opened for the first time", opening[0]!, 2000, "ms"),
    atMost("a place in it sought", median(seeking), 100, "ms"),
    atMost("the slowest of 60 places", Math.max(...seeking), 100, "ms"),
  ];
}
