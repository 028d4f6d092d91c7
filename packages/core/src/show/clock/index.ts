import { InputError } from "../../errors/index.ts";
import { parseQuantity } from "../../quantity/index.ts";

const DAY = 86_400;
const two = (value: number): string => String(value).padStart(2, "0");

/** A stretch of time: `40 s`, `2 min`, `1:23.5` (minutes, seconds), `1:02:03`. In seconds, never negative. */
export function readStretch(text: string): number {
  const clock = /^(?:(\d{1,3}):)?(\d{1,3}):(\d{2}(?:\.\d+)?)$/.exec(text.trim());
  const seconds = clock
    ? Number(clock[1] ?? 0) * 3600 + Number(clock[2]) * 60 + Number(clock[3])
    : parseQuantity(text, "time").value;
  if (seconds < 0 || !Number.isFinite(seconds))
    throw new InputError("bad-time", `“${text}” is not a stretch of time; expected something like “40 s” or “1:23.5”.`);
  return seconds;
}

/** A time of day, `15:30` or `15:30:20`, in seconds from midnight. */
export function readClock(text: string): number {
  const match = /^(\d{1,2}):(\d{2})(?::(\d{2}))?$/.exec(text.trim());
  const [hours, minutes, seconds] = [Number(match?.[1]), Number(match?.[2]), Number(match?.[3] ?? 0)];
  if (!match || hours > 23 || minutes > 59 || seconds > 59)
    throw new InputError("bad-clock", `“${text}” is not a time of day; expected something like “15:30”.`);
  return hours * 3600 + minutes * 60 + seconds;
}

/** A time of day as it is read off a clock; `days` before it, where the time lies there. */
export function printClock(seconds: number): { clock: string; daysBefore: number } {
  const whole = Math.floor(seconds);
  const days = Math.floor(whole / DAY);
  const left = whole - days * DAY;
  const clock = `${two(Math.floor(left / 3600))}:${two(Math.floor(left / 60) % 60)}:${two(left % 60)}`;
  return { clock, daysBefore: days === 0 ? 0 : -days };
}

/** `1:05`, `12:30`, `1:02:03`: a stretch in whole seconds. */
export function printStretch(seconds: number): string {
  const whole = Math.round(seconds);
  const hours = Math.floor(whole / 3600);
  const minutes = Math.floor(whole / 60) % 60;
  return hours > 0 ? `${hours}:${two(minutes)}:${two(whole % 60)}` : `${minutes}:${two(whole % 60)}`;
}
