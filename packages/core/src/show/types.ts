/** What a scene waits for: a job that the timing room knows, or a stretch in seconds. */
export type Wait = { job: "boot" | "login" } | { job: "load"; name: string } | { seconds: number };

export interface Scene {
  name: string;
  /** What the presenter does with the hands, and how long that takes, in seconds. */
  do?: string;
  takes?: number;
  /** What is typed, Return after it. */
  type?: string;
  /** What the machine then shows: the scene is over when it is there. */
  expect?: string;
  wait?: Wait;
  /** Characters that are printed meanwhile. */
  prints?: number;
  say?: string;
}

/** A script of a show. Times in seconds. */
export interface Script {
  title: string;
  /** Time of day at which it must be over, from midnight. */
  ends?: number;
  /** Kept free at the end. */
  spare: number;
  /** Words a minute that the presenter speaks. */
  words: number;
  /** Characters a second that are typed. */
  typing: number;
  /** Whom to thank, in the words to be said or shown. */
  credits: readonly string[];
  scenes: readonly Scene[];
}
