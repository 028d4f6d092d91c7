import { useEffect, useRef, useState } from "react";
import { Button } from "react-aria-components";
import type { WorkbenchReport } from "../../job/types.ts";

type Caution = WorkbenchReport["cautions"][number];

const KEY = "rouse-cautions-read";
const codesOf = (cautions: readonly Caution[]): string => cautions.map(({ code }) => code).join(" ");

/**
 * The cautions that this bench calls for. They stand open until each has been in view and the person says that they
 * were read; after that one line stays, which opens them again. New kinds of caution open them anew.
 */
export function Cautions({ cautions }: { cautions: readonly Caution[] }) {
  const codes = codesOf(cautions);
  const [read, setRead] = useState(() => localStorage.getItem(KEY));
  const [open, setOpen] = useState(false);
  const [seen, setSeen] = useState<ReadonlySet<string>>(new Set());
  const list = useRef<HTMLUListElement>(null);
  const folded = codes.split(" ").every((code) => read?.split(" ").includes(code));
  const shown = !folded || open;

  useEffect(() => {
    if (!shown || !list.current) return;
    const observer = new IntersectionObserver(
      (entries) => {
        const inView = entries.filter((each) => each.isIntersecting).map((each) => (each.target as HTMLElement).id);
        if (inView.length > 0) setSeen((before) => new Set([...before, ...inView]));
      },
      { threshold: 0.8 },
    );
    for (const item of list.current.children) observer.observe(item);
    return () => observer.disconnect();
  }, [shown]);

  if (cautions.length === 0) return null;
  const allSeen = cautions.every(({ code }) => seen.has(`caution-${code}`));
  const done = (): void => {
    localStorage.setItem(KEY, codes);
    setRead(codes);
    setOpen(false);
  };
  if (!shown)
    return (
      <div className="cautions is-folded">
        <Hazard />
        <span>Before you open a case: {cautions.map(({ title }) => title.toLowerCase()).join(", ")}.</span>
        <Button className="button is-quiet" onPress={() => setOpen(true)}>
          Read the cautions
        </Button>
      </div>
    );
  return (
    <section className="cautions is-open" aria-labelledby="cautions-title">
      <div className="cautions-head">
        <Hazard />
        <h2 id="cautions-title">Before you open a case</h2>
      </div>
      <ul ref={list}>
        {cautions.map(({ code, title, sentence }) => (
          <li key={code} id={`caution-${code}`}>
            <h3>{title}</h3>
            <p>{sentence}</p>
          </li>
        ))}
      </ul>
      <Button className="button" isDisabled={!allSeen} onPress={done}>
        {allSeen ? "I have read these" : "Read to the end first"}
      </Button>
    </section>
  );
}

const Hazard = () => (
  <svg className="hazard" viewBox="0 0 24 24" aria-hidden="true">
    <path d="M12 2.500 23 21.500H1z" />
    <path className="bang" d="M12 9v6M12 17.600v1.400" />
  </svg>
);
