/**
 * Who may come in over the local network. A code of six digits is made on the person's word and shown on the computer
 * only; it lets in one phone, within five minutes, and is void after five wrong tries: one chance in 200,000 for a guesser. What
 * the phone gets for it is a random token of 256 bits that is good for this run, until it is taken away.
 */
import { randomBytes, randomInt } from "node:crypto";
import { InputError } from "@rouse/core/errors";
import { isSame, newToken } from "./guard.ts";

const CODE_LASTS = 5 * 60_000;
const TRIES = 5;
/** Between tries of all phones together; ms. */
const PAUSE = 500;
/** A phone is let in for a day's work; ms. */
const PHONE_LASTS = 16 * 3_600_000;
const MOST_PHONES = 8;

export interface PairedPhone {
  id: string;
  /** "phone 1" */
  name: string;
  /** ISO 8601 */
  since: string;
  seen: string;
}

export interface Pairing {
  /** Makes a new code; an older one is void. */
  newCode(): { code: string; until: string };
  /** The code that is open, if any. */
  code(): { code: string; until: string } | null;
  /** Gives the token of a phone that is let in. Throws an `InputError` for everything else. */
  pair(code: string): { token: string; seconds: number };
  /** Whether this is the token of a phone that is let in. */
  isPaired(token: string | undefined): boolean;
  phones(): readonly PairedPhone[];
  remove(id: string): void;
}

export function createPairing(now: () => number, changed: () => void = () => {}): Pairing {
  let open: { code: string; until: number; tries: number } | undefined;
  let lastTry = Number.NEGATIVE_INFINITY;
  let count = 0;
  let phones: { id: string; name: string; token: string; since: number; seen: number }[] = [];
  const iso = (time: number): string => new Date(time).toISOString();
  const openCode = () => (open && now() < open.until ? open : undefined);
  const living = () => {
    phones = phones.filter(({ since }) => now() - since < PHONE_LASTS);
    return phones;
  };
  const shown = () => {
    const found = openCode();
    return found ? { code: found.code, until: iso(found.until) } : null;
  };
  return {
    newCode() {
      if (living().length >= MOST_PHONES)
        throw new InputError("too-many", `${MOST_PHONES} phones are paired; unpair one first.`);
      open = { code: String(randomInt(1_000_000)).padStart(6, "0"), until: now() + CODE_LASTS, tries: 0 };
      changed();
      return shown()!;
    },
    code: shown,
    pair(given) {
      if (now() - lastTry < PAUSE) throw new InputError("too-soon", "That was too quick; wait a second and try again.");
      lastTry = now();
      const found = openCode();
      if (!found) throw new InputError("no-code", "There is no code open; make a new one on the computer.");
      if (!isSame(given.replace(/\s/g, ""), found.code)) {
        found.tries += 1;
        const left = TRIES - found.tries;
        if (left === 0) open = undefined;
        changed();
        throw new InputError(
          "wrong-code",
          left === 0
            ? "That is not the code. It is void now; make a new one on the computer."
            : `That is not the code. ${left} more ${left === 1 ? "try" : "tries"}.`,
        );
      }
      open = undefined;
      count += 1;
      const token = newToken();
      phones.push({ id: randomBytes(6).toString("hex"), name: `phone ${count}`, token, since: now(), seen: now() });
      changed();
      return { token, seconds: PHONE_LASTS / 1000 };
    },
    isPaired(token) {
      const found = living().find((each) => isSame(token, each.token));
      if (found) found.seen = now();
      return found !== undefined;
    },
    phones: () => living().map(({ id, name, since, seen }) => ({ id, name, since: iso(since), seen: iso(seen) })),
    remove(id) {
      phones = phones.filter((each) => each.id !== id);
      changed();
    },
  };
}
