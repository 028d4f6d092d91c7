import type { EndName, Net } from "./nets.ts";

/** A contact of one of the two plugs. */
export interface Contact {
  end: EndName;
  pin: number;
}

/** What a continuity tester must say of a cable that lies on the bench, plugged in nowhere. */
export interface ContinuityList {
  /** Every pair that must beep. */
  beep: readonly (readonly [Contact, Contact])[];
  /** Every pair that must not. */
  silent: readonly (readonly [Contact, Contact])[];
  /**
   * A shorter way: once all pairs of `beep` have beeped, one contact stands for its whole net; hold a probe on `on` and
   * touch each of `against`. It settles every pair of `silent` but those of two contacts without a wire.
   */
  shortly: readonly { on: Contact; against: readonly Contact[] }[];
}

/** Pairs of contacts of both plugs, by the nets that the cable makes of them. */
export function continuity(nets: readonly Net[]): ContinuityList {
  const groups = nets.map((net) => net.pins.map(({ end, pin }): Contact => ({ end, pin })));
  const beep = groups.flatMap((group) =>
    group.flatMap((one, index) => group.slice(index + 1).map((other) => [one, other] as const)),
  );
  const silent = groups.flatMap((group, index) =>
    groups.slice(index + 1).flatMap((later) => group.flatMap((one) => later.map((other) => [one, other] as const))),
  );
  const wired = groups.filter((group) => group.length > 1);
  const heads = (some: readonly Contact[][]) => some.flatMap((group) => group.slice(0, 1));
  const open = groups.filter((group) => group.length === 1);
  const shortly = wired.map((group, index) => ({
    on: group[0]!,
    against: [...heads(wired.slice(index + 1)), ...heads(open)],
  }));
  return { beep, silent, shortly: shortly.filter((each) => each.against.length > 0) };
}

/** “console 1, 3–5; terminal 2” */
export const contactsInWords = (contacts: readonly Contact[], nameOf: (end: EndName) => string): string =>
  (["from", "to"] as const)
    .flatMap((end) => {
      const pins = contacts.filter((each) => each.end === end).map((each) => each.pin);
      return pins.length === 0 ? [] : [`${nameOf(end)} ${ranges(pins)}`];
    })
    .join("; ");

/** `1, 3–5, 9` */
function ranges(pins: readonly number[]): string {
  const sorted = [...pins].sort((a, b) => a - b);
  const out: [number, number][] = [];
  for (const pin of sorted) {
    const last = out.at(-1);
    if (last && pin === last[1] + 1) last[1] = pin;
    else out.push([pin, pin]);
  }
  return out.map(([a, b]) => (a === b ? `${a}` : b === a + 1 ? `${a}, ${b}` : `${a}–${b}`)).join(", ");
}
