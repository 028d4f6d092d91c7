export * from "./frame.ts";
export * from "./levels.ts";
export * from "./nets.ts";
export * from "./rate.ts";
