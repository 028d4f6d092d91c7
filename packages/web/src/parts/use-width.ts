import { type RefObject, useLayoutEffect, useState } from "react";

/** Width of an element in CSS pixels, followed as it changes: a drawing made to it keeps its text at the size of the page's. */
export function useWidth(element: RefObject<HTMLElement | null>, before = 800): number {
  const [width, setWidth] = useState(before);
  useLayoutEffect(() => {
    const measure = (): void => {
      const now = element.current?.clientWidth ?? 0;
      if (now > 0) setWidth(now);
    };
    measure();
    const observer = new ResizeObserver(measure);
    if (element.current) observer.observe(element.current);
    return () => observer.disconnect();
  }, [element]);
  return width;
}
