import { type ReactNode, useEffect, useRef, useState } from "react";

/** A table that may be wider than a phone: it scrolls by itself, by keys too, and only then takes the focus. */
export function ScrollX({ name, children }: { name: string; children: ReactNode }) {
  const place = useRef<HTMLElement>(null);
  const [isWider, setWider] = useState(false);
  // biome-ignore lint/correctness/useExhaustiveDependencies: what it holds may have become wider
  useEffect(() => {
    const measure = (): void => {
      const { scrollWidth = 0, clientWidth = 0 } = place.current ?? {};
      setWider(scrollWidth > clientWidth);
    };
    measure();
    window.addEventListener("resize", measure);
    return () => window.removeEventListener("resize", measure);
  }, [children]);
  return (
    <section ref={place} className="scroll-x" aria-label={name} {...(isWider ? { tabIndex: 0 } : {})}>
      {children}
    </section>
  );
}
