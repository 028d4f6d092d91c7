import { type ComponentType, type LazyExoticComponent, lazy } from "react";

/** A page of the workbench: one folder under `pages/`, and one line in `PAGES`. */
export interface Page {
  /** First part of its address. */
  path: string;
  title: string;
  about: string;
  Body: LazyExoticComponent<ComponentType>;
}

export const PAGES: readonly Page[] = [
  {
    path: "chain",
    title: "Chain",
    about: "Everything between the image and the audience, with what stops it",
    Body: lazy(() => import("../pages/chain/index.tsx")),
  },
  {
    path: "bench",
    title: "Bench file",
    about: "Describe the bench, and see the chain change as you write",
    Body: lazy(() => import("../pages/bench/index.tsx")),
  },
  {
    path: "images",
    title: "Images",
    about: "What each image holds, and whether it is whole",
    Body: lazy(() => import("../pages/images/index.tsx")),
  },
];
