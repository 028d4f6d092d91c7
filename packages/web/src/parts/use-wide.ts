import { useSyncExternalStore } from "react";

/** From this width the chain runs from left to right; below it, downwards. */
const WIDE = "(min-width: 1080px)";

/** Whether there is room for the wide layout; follows the window. */
export const useWide = (): boolean =>
  useSyncExternalStore(
    (told) => {
      const query = window.matchMedia(WIDE);
      query.addEventListener("change", told);
      return () => query.removeEventListener("change", told);
    },
    () => window.matchMedia(WIDE).matches,
  );
