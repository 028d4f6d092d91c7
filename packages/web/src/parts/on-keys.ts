import type { KeyboardEvent } from "react";

/** Does what a key stands for, and then keeps the browser from doing anything else with it. */
export function onKeys(event: KeyboardEvent, acts: readonly (readonly [key: string, act: () => void])[]): void {
  const found = acts.find(([key]) => key === event.key);
  if (!found) return;
  event.preventDefault();
  found[1]();
}
