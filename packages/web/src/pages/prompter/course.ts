import type { PlannedShow } from "@rouse/core/show";
import type { PrompterTold } from "./types.ts";

/** Where the presenter is. Times in ms since 1970 by this device's clock. */
export interface Course {
  scene: number;
  /** When the show began, and when this scene did. */
  begun: number | null;
  since: number;
  /** The scene that the session itself had come to when it last moved the prompter. */
  followed: number;
}

export const ATSTART: Course = { scene: 0, begun: null, since: 0, followed: 0 };

/** One scene on or back by hand. */
export function stepped(course: Course, by: 1 | -1, scenes: number, now: number): Course {
  if (course.begun === null) return by === 1 ? { ...course, begun: now, since: now } : course;
  const scene = Math.min(scenes, Math.max(0, course.scene + by));
  return scene === course.scene ? course : { ...course, scene, since: now };
}

/**
 * What the session says goes before what the hand said, once, when it comes to another scene. `shift`: what this device's
 * clock is ahead of the computer's, in ms.
 */
export function followed(course: Course, session: PrompterTold["session"], shift: number): Course {
  if (!session || session.place.scene === course.followed) return course;
  const { scene, since } = session.place;
  const begun = course.begun ?? session.started + shift;
  // A session that began anew takes the prompter back with it only where it was followed before.
  return { scene, begun, since: session.started + shift + since * 1000, followed: scene };
}

/** Seconds of a show that is under way. */
export interface Clock {
  elapsed: number;
  inScene: number;
  /** Behind the plan (negative: before it). */
  late: number;
  /** To the end, if all else goes as planned. */
  left: number;
  /** Of the scene's wait: how much is over; null where it has none. */
  wait: { over: number; usual: number; high: number; known: boolean } | null;
}

export function clockOf({ scenes }: PlannedShow, { scene, begun, since }: Course, now: number): Clock {
  const current = scenes[scene];
  const last = scenes.at(-1);
  const elapsed = begun === null ? 0 : Math.max(0, (now - begun) / 1000);
  const inScene = begun === null ? 0 : Math.max(0, (now - since) / 1000);
  const end = last ? last.start + last.length.usual : 0;
  if (!current) return { elapsed, inScene, late: elapsed - inScene - end, left: 0, wait: null };
  const planned = current.length.usual;
  const late = begun === null ? 0 : elapsed - inScene - current.start + Math.max(0, inScene - planned);
  const left = Math.max(0, planned - inScene) + (end - current.start - planned);
  const { usual, high } = current.wait;
  const over = Math.max(0, inScene - current.hands);
  return {
    elapsed,
    inScene,
    late,
    left,
    wait: high > 0 || !current.known ? { over, usual, high, known: current.known } : null,
  };
}

const DAY = 86_400;

/** Seconds between the expected end and the time of day at which it must be over; negative where it is too late. */
export function spareAt(ends: number, left: number, now: Date): number {
  const clock = now.getHours() * 3600 + now.getMinutes() * 60 + now.getSeconds();
  const spare = ends - clock - left;
  // A show around midnight.
  return spare > DAY / 2 ? spare - DAY : spare < -DAY / 2 ? spare + DAY : spare;
}
