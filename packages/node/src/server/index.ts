export { type AppDeps, createApp } from "./app.ts";
export { newToken } from "./guard.ts";
export { createLive, type Live, type LiveMessage } from "./live.ts";
export type { Problem } from "./problems.ts";
export type * from "./services.ts";
export { DEFAULT_PORT, type Started, startServer } from "./start.ts";
export { type JobPart, type Watching, watchJob } from "./watch.ts";
export { openWorkbench } from "./workbench.ts";
