export * from "./capture.ts";
