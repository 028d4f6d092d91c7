import { formatNumber } from "@rouse/core/quantity";

export const percent = (share: number): string =>
  share < 0.0005 ? "< 0.1 %" : `${(share * 100).toFixed(share < 0.1 ? 1 : 0)} %`;

/** How many times likelier, or less likely, something became: "× 8" for 3 bits, "÷ 2" for −1. */
export const times = (bits: number): string => `${bits >= 0 ? "×" : "÷"} ${formatNumber(2 ** Math.abs(bits), 2)}`;

export const inMinutes = (minutes: number): string =>
  minutes < 1 ? "half a minute" : `${formatNumber(minutes, 2)} min`;

export const RISKS = {
  none: "nothing is opened",
  low: "open, power off",
  some: "open, power on",
  high: "near the mains, or a part may be lost",
} as const;
