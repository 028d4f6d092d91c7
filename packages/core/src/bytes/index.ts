export * from "./crc.ts";
export * from "./read.ts";
export * from "./text.ts";
