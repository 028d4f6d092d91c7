import { type RefObject, useEffect, useState } from "react";

/** Counts changes of an element's size and of the theme, upon which a canvas has to be drawn anew. */
export function useRedraw(element: RefObject<HTMLElement | null>): number {
  const [count, setCount] = useState(0);
  useEffect(() => {
    const told = (): void => setCount((before) => before + 1);
    const observer = new ResizeObserver(told);
    if (element.current) observer.observe(element.current);
    const dark = window.matchMedia("(prefers-color-scheme: dark)");
    window.addEventListener("rouse-theme", told);
    dark.addEventListener("change", told);
    return () => {
      observer.disconnect();
      window.removeEventListener("rouse-theme", told);
      dark.removeEventListener("change", told);
    };
  }, [element]);
  return count;
}
