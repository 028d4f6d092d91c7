import { Suspense, useEffect, useRef, useState } from "react";
import { isUnsaved, job, useJob } from "../job/job.ts";
import { Empty, Loading } from "../parts/states.tsx";
import { Boundary } from "./boundary.tsx";
import { KeysDialog, useShortcuts } from "./keys.tsx";
import { OutsideChange } from "./outside.tsx";
import { GROUPS, type Group, PAGES, type Page, pagesOf } from "./pages.ts";
import { routeTo, useRoute } from "./route.ts";
import { ThemeSwitch } from "./theme-switch.tsx";

export function App() {
  const { parts } = useRoute();
  const page = parts[0] === undefined ? PAGES[0] : PAGES.find(({ path }) => path === parts[0]);
  const [keysShown, showKeys] = useState(false);
  const main = useRef<HTMLElement>(null);
  const before = useRef(page);
  useShortcuts(page, () => showKeys(true));

  useEffect(() => {
    document.title = `${page?.title ?? "No such page"} · Rouse`;
    // The next Tab goes into the new page; the first page leaves the focus where the browser put it.
    if (before.current !== page) main.current?.focus({ preventScroll: true });
    before.current = page;
  }, [page]);

  return (
    <>
      <Header current={page} onSkip={() => main.current?.focus()} onKeys={() => showKeys(true)} />
      <Notices />
      <main id="main" ref={main} tabIndex={-1}>
        <Boundary key={page?.path}>
          <Suspense fallback={<Loading what="Opening the page…" />}>
            {page ? (
              <page.Body />
            ) : (
              <Empty title="There is no such page">
                <p>
                  <a href={routeTo(["chain"])}>Go to the chain</a>
                </p>
              </Empty>
            )}
          </Suspense>
        </Boundary>
      </main>
      <KeysDialog isOpen={keysShown} onOpenChange={showKeys} />
    </>
  );
}

function Header({ current, onSkip, onKeys }: { current: Page | undefined; onSkip: () => void; onKeys: () => void }) {
  const group = current?.group;
  const unsaved = isUnsaved(useJob()) && (
    <span className="dot" title="not saved">
      <span className="sr-only"> (not saved)</span>
    </span>
  );
  return (
    <header className="top">
      <button type="button" className="skip" onClick={onSkip}>
        Skip to the page
      </button>
      <a className="brand" href={routeTo(["chain"])}>
        <svg viewBox="0 0 32 32" aria-hidden="true">
          <rect width="32" height="32" rx="7" />
          <path d="M6 21h5l3-10 4 14 3-9h5" />
        </svg>
        Rouse
      </a>
      <nav className="groups" aria-label="Groups of pages">
        <ul>
          {(Object.keys(GROUPS) as Group[]).map((each) => (
            <li key={each}>
              <a href={routeTo([pagesOf(each)[0]!.path])} aria-current={each === group ? "true" : undefined}>
                {GROUPS[each]}
                {each === "bench" && unsaved}
              </a>
            </li>
          ))}
        </ul>
      </nav>
      <div className="top-end">
        <ThemeSwitch />
        <button
          type="button"
          className="button is-quiet is-square"
          onClick={onKeys}
          aria-label="Keys and help"
          title="Keys and help"
        >
          ?
        </button>
      </div>
      {group && (
        <nav className="pages" aria-label={GROUPS[group]}>
          <ul>
            {pagesOf(group).map(({ path, title, about }) => (
              <li key={path}>
                <a href={routeTo([path])} aria-current={path === current?.path ? "page" : undefined} title={about}>
                  {title}
                  {path === "bench" && unsaved}
                </a>
              </li>
            ))}
          </ul>
        </nav>
      )}
    </header>
  );
}

/** What concerns every page: a broken connection, a file changed elsewhere, a save that failed. */
function Notices() {
  const { connection, outside, saveProblem } = useJob();
  return (
    <div aria-live="polite">
      {connection === "lost" && (
        <p className="notice">
          The connection to the workbench is lost; trying again. If rouse open was ended, start it and open its new
          address.
        </p>
      )}
      {outside && <OutsideChange onTake={job.takeTheirs} onKeep={job.keepMine} />}
      {saveProblem && <p className="notice is-bad">{saveProblem}</p>}
    </div>
  );
}
