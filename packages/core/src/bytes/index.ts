export * from "./charset.ts";
export * from "./crc.ts";
export * from "./dump.ts";
export * from "./html.ts";
export * from "./intelhex.ts";
export * from "./read.ts";
export * from "./segments.ts";
export { fromSRecord, toSRecord } from "./srecord.ts";
export * from "./text.ts";
