/** Follows a session while it is captured: where it stands in the script, told to every prompter. */
import { InputError } from "@rouse/core/errors";
import { type Capture, followScript, type Place, placeIn, readCapture } from "@rouse/core/show";
import { type Job, listFiles, openInside } from "../store/index.ts";
import { CAPTURES, type PlanTold, type ShowRoom } from "./show.ts";

export interface PrompterTold {
  plan: PlanTold | null;
  /** Why there is no plan. */
  problem: string | null;
  /** The session that is followed; null until one goes on. */
  session: {
    name: string;
    /** ms since 1970 by this computer's clock, for the capture's zero. */
    started: number;
    place: Place;
  } | null;
  /** This computer's clock when it was told, ms since 1970. */
  now: number;
}

export interface Prompters {
  /** `capture`: follow this one, else the one that was written to last and not long ago. */
  follow(told: (state: unknown) => void, capture?: string): () => void;
  /** Something of the job's files changed. */
  changed(): void;
  close(): void;
}

/** The captures are looked at so often while a prompter is open; ms. */
const LOOK = 250;
/** A session that was quiet for longer is not taken for a running one; ms. */
const RECENT = 10 * 60_000;
const PART = 1 << 20;

/** A capture that is read as it grows. */
class Growing {
  readonly #job: Job;
  readonly name: string;
  #file = "";
  #read = 0;
  #rest = new Uint8Array(0);
  /** The first line, with its line feed. */
  #head = new Uint8Array(0);
  #capture: Capture | undefined;

  constructor(job: Job, name: string) {
    this.#job = job;
    this.name = name;
  }

  /** Reads what was added; gives whether anything was. */
  async grow(): Promise<boolean> {
    const handle = await openInside(this.#job.folder, `${CAPTURES}/${this.name}`);
    try {
      const { size, ino } = await handle.stat();
      if (`${ino}` !== this.#file || size < this.#read) {
        [this.#file, this.#read, this.#rest, this.#capture] = [`${ino}`, 0, new Uint8Array(0), undefined];
      }
      const before = this.#read;
      while (this.#read < size) {
        const part = new Uint8Array(Math.min(PART, size - this.#read));
        const { bytesRead } = await handle.read(part, 0, part.length, this.#read);
        if (bytesRead === 0) break;
        this.#read += bytesRead;
        this.#add(part.subarray(0, bytesRead));
      }
      return this.#read > before;
    } finally {
      await handle.close();
    }
  }

  #add(part: Uint8Array): void {
    const bytes = new Uint8Array(this.#rest.length + part.length);
    bytes.set(this.#rest);
    bytes.set(part, this.#rest.length);
    const end = bytes.lastIndexOf(0x0a) + 1;
    this.#rest = bytes.slice(end);
    if (end === 0) return;
    let lines = bytes.subarray(0, end);
    if (!this.#capture) {
      const first = lines.indexOf(0x0a) + 1;
      this.#capture = readCapture(lines.subarray(0, first));
      this.#head = lines.slice(0, first);
      lines = lines.subarray(first);
    }
    const whole = new Uint8Array(this.#head.length + lines.length);
    whole.set(this.#head);
    whole.set(lines, this.#head.length);
    for (const entry of readCapture(whole).entries) this.#capture.entries.push(entry);
  }

  get capture(): Capture | undefined {
    return this.#capture;
  }
}

export function createPrompters(job: Job, show: ShowRoom, now: () => Date): Prompters {
  const followers = new Map<(state: unknown) => void, { choice: string | undefined; last: string }>();
  const growing = new Map<string, { capture: Growing; session: PrompterTold["session"] }>();
  /** Script by which a session's place was found. */
  const hashes = new Map<string, string>();
  let timer: NodeJS.Timeout | undefined;
  let looking = false;
  /** The plan is worked out anew only when the script or the job changed. */
  let planned: { hash: string; plan: PlanTold | null; problem: string | null; at: string } | undefined;
  let change = 0;

  const plan = async () => {
    try {
      const { hash } = await show.script();
      const at = `${change}`;
      if (planned?.hash === hash && planned.at === at) return planned;
      planned = { hash, at, plan: await show.plan(), problem: null };
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      planned = { hash: "", at: "", plan: null, problem: error.message };
    }
    return planned;
  };
  const newest = async (): Promise<string | undefined> => {
    const files = (await listFiles(job, CAPTURES)).filter(({ name, problem }) => /\.jsonl$/i.test(name) && !problem);
    // A stamp ends in the time of the last change, ns since 1970.
    const timed = files.map(({ name, stamp }) => ({ name, time: Number(stamp.split("-").at(-1)) / 1e6 }));
    const last = timed.reduce((one, other) => (other.time > one.time ? other : one), { name: "", time: 0 });
    return now().getTime() - last.time < RECENT || growing.has(last.name) ? last.name || undefined : undefined;
  };
  const session = async (name: string, planHash: string): Promise<PrompterTold["session"]> => {
    const found = growing.get(name) ?? { capture: new Growing(job, name), session: null };
    growing.set(name, found);
    try {
      const grew = await found.capture.grow();
      const { capture } = found.capture;
      if (!capture) return null;
      if (grew || hashes.get(name) !== planHash) {
        const place =
          planHash === "" ? { scene: 0, since: 0 } : placeIn(followScript(await show.readScript(), capture));
        found.session = { name, started: Date.parse(capture.head.started), place };
        hashes.set(name, planHash);
      }
      return found.session;
    } catch (error) {
      // Not a capture, or gone meanwhile.
      if (error instanceof InputError) return null;
      throw error;
    }
  };

  const look = async (): Promise<void> => {
    if (looking || followers.size === 0) return;
    looking = true;
    try {
      const { plan: found, problem, hash } = await plan();
      const last = await newest();
      for (const [told, follower] of followers) {
        const name = follower.choice ?? last;
        const state = { plan: found, problem, session: name === undefined ? null : await session(name, hash) };
        const text = JSON.stringify(state);
        if (text === follower.last) continue;
        follower.last = text;
        told({ ...state, now: now().getTime() } satisfies PrompterTold);
      }
    } finally {
      looking = false;
    }
  };
  // A look that fails is made again at the next turn.
  const lookNow = (): void => void look().catch(() => undefined);

  return {
    follow(told, choice) {
      followers.set(told, { choice, last: "" });
      if (timer === undefined) {
        timer = setInterval(lookNow, LOOK);
        timer.unref();
      }
      lookNow();
      return () => {
        followers.delete(told);
        if (followers.size > 0) return;
        clearInterval(timer);
        timer = undefined;
        growing.clear();
      };
    },
    changed() {
      change += 1;
    },
    close() {
      clearInterval(timer);
      followers.clear();
    },
  };
}
