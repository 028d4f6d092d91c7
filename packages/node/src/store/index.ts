export * from "./extract.ts";
export * from "./image.ts";
export { openInside, readWhole, resolveInside } from "./inside.ts";
export * from "./job.ts";
export * from "./log.ts";
export { hostName, storedName } from "./names.ts";
export { writeNew } from "./new-file.ts";
export { readTree } from "./tree.ts";
export { writeWhole } from "./whole.ts";
