import { type ComponentType, type LazyExoticComponent, lazy } from "react";

/** Pages that are used together. */
export const GROUPS = { bench: "Bench", machine: "Machine", media: "Disk and line", day: "The day" } as const;
export type Group = keyof typeof GROUPS;

/** A page of the workbench: one folder under `pages/`, and one entry in `PAGES`. */
export interface Page {
  /** First part of its address. */
  path: string;
  title: string;
  group: Group;
  about: string;
  Body: LazyExoticComponent<ComponentType>;
}

export const PAGES: readonly Page[] = [
  {
    path: "chain",
    group: "bench",
    title: "Chain",
    about: "Everything between the image and the audience, with what stops it",
    Body: lazy(() => import("../pages/chain/index.tsx")),
  },
  {
    path: "bench",
    group: "bench",
    title: "Bench file",
    about: "Describe the bench, and see the chain change as you write",
    Body: lazy(() => import("../pages/bench/index.tsx")),
  },
  {
    path: "images",
    group: "bench",
    title: "Images",
    about: "What each image holds, and whether it is whole",
    Body: lazy(() => import("../pages/images/index.tsx")),
  },
  {
    path: "time",
    group: "bench",
    title: "Time",
    about: "How long it takes, what takes it, and what would be quicker",
    Body: lazy(() => import("../pages/time/index.tsx")),
  },
  {
    path: "memory",
    group: "machine",
    title: "Memory",
    about: "What the CPU sees in every state of its latches, down to the chip",
    Body: lazy(() => import("../pages/memory/index.tsx")),
  },
  {
    path: "boards",
    group: "machine",
    title: "Boards",
    about: "Current, load and time of what the boards ask, and how one goes in",
    Body: lazy(() => import("../pages/boards/index.tsx")),
  },
  {
    path: "diagnose",
    group: "machine",
    title: "Diagnose",
    about: "Test programs made for this bench, and what their reports say",
    Body: lazy(() => import("../pages/diagnose/index.tsx")),
  },
  {
    path: "why",
    group: "machine",
    title: "Why",
    about: "Why it does not start: causes along the chain, and the test that tells most",
    Body: lazy(() => import("../pages/why/index.tsx")),
  },
  {
    path: "disk",
    group: "media",
    title: "Disk",
    about: "Tracks field by field and cell by cell, and what a captured read signal holds",
    Body: lazy(() => import("../pages/disk/index.tsx")),
  },
  {
    path: "write",
    group: "media",
    title: "Write",
    about: "Put an image onto a disk, and see that it is on it",
    Body: lazy(() => import("../pages/write/index.tsx")),
  },
  {
    path: "line",
    group: "media",
    title: "Line",
    about: "Talk over a serial line, move files, find its rate, test it",
    Body: lazy(() => import("../pages/line/index.tsx")),
  },
  {
    path: "rehearse",
    group: "day",
    title: "Rehearse",
    about: "The bench as a running machine, with nothing at risk",
    Body: lazy(() => import("../pages/rehearse/index.tsx")),
  },
  {
    path: "runbook",
    group: "day",
    title: "Run book",
    about: "The steps of the bring-up, ticked off with evidence, here or on a phone",
    Body: lazy(() => import("../pages/runbook/index.tsx")),
  },
  {
    path: "show",
    group: "day",
    title: "Show",
    about: "The script with its waits, and captured sessions again",
    Body: lazy(() => import("../pages/show/index.tsx")),
  },
  {
    path: "prompter",
    group: "day",
    title: "Prompter",
    about: "What to do, type and say now, in big text",
    Body: lazy(() => import("../pages/prompter/index.tsx")),
  },
];

export const pagesOf = (group: Group): readonly Page[] => PAGES.filter((page) => page.group === group);
