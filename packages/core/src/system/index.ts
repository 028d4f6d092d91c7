export type * from "./asks.ts";
export type * from "./configuration.ts";
export * from "./controls.ts";
export * from "./descriptor.ts";
export * from "./module.ts";
export * from "./needs.ts";
export type * from "./needs-types.ts";
export * from "./startup.ts";
export * from "./survey-system.ts";
