import type { LevelFamily } from "../catalogue/index.ts";

/** What happens when one family drives the input of another. */
export interface LevelMeeting {
  verdict: "fits" | "marginal" | "fails" | "damages";
  sentence: string;
}

/**
 * One driver on one listener. V.28: a receiver takes −3 V and below as mark, +3 V and above as space, drivers give 5 to
 * 15 V of either sign (MC1488 data sheet); TTL inputs bear −0.5 to 7 V (SDLS025B) and take the opposite polarity.
 */
export function meet(driver: LevelFamily, listener: LevelFamily): LevelMeeting {
  // A loop of two ends that both wait for current, or both feed it, is dead; the bench does not say which does what.
  if (driver === "current loop" && listener === "current loop")
    return {
      verdict: "marginal",
      sentence: "both ends use a current loop: one of them, and only one, must feed the current",
    };
  if (driver === listener) return { verdict: "fits", sentence: `both ends use ${driver} levels` };
  const pair = `${driver} into ${listener}`;
  if (driver === "current loop" || listener === "current loop")
    return { verdict: "fails", sentence: `${pair}: a loop carries current, not voltage; it needs a converter` };
  if (driver === "V.10" && listener === "V.28")
    return {
      verdict: "marginal",
      sentence: `${pair}: V.10 drivers give 4 to 6 V, enough for a V.28 receiver but with little to spare`,
    };
  // The catalogue's limits of V.10 receivers are from memory.
  if (driver === "V.28" && listener === "V.10")
    return {
      verdict: "marginal",
      sentence: `${pair}: V.10 receivers bear about ±12 V, and V.28 drivers may give up to ±15 V: measure the idle line first`,
    };
  if (driver === "V.28" || driver === "V.10")
    return {
      verdict: "damages",
      sentence: `${pair}: the input bears about −0.5 to 7 V and would be given up to ±15 V`,
    };
  if (listener === "V.28" || listener === "V.10")
    return {
      verdict: "fails",
      sentence: `${pair}: no negative voltage for mark, and the polarity is inverted; some receivers seem to work all the same`,
    };
  if (driver === "TTL 5 V" && listener === "TTL 3.3 V")
    return {
      verdict: "damages",
      sentence: `${pair}: 5 V on an input made for 3.3 V, unless its data sheet says that it bears it`,
    };
  return {
    verdict: "marginal",
    sentence: `${pair}: 3.3 V is above the 2 V that a TTL input needs, with less to spare`,
  };
}
