import type { Source } from "../catalogue/index.ts";

/** Sources of the rules that checks apply; sources of parts' values are the catalogue's. */
const source = (id: string, kind: Source["kind"], title: string): Source => ({ id, kind, title });

export const RULES = {
  ieee488: source("IEEE 488.1", "standard", "IEEE Std 488.1-2003, clauses on cable length and device count"),
  v28: source("V.28", "standard", "ITU-T V.28 / TIA-232-F, electrical characteristics of interchange circuits"),
  v24: source("V.24", "standard", "ITU-T V.24, definitions of interchange circuits"),
  mc1488: source("MC1488", "data sheet", "MC1488 data sheet, applications information"),
  lsSheet: source(
    "SDLS025B",
    "data sheet",
    "SDLS025B, 7400 and 74LS00 data sheet: supply range, input and output currents",
  ),
  cpuSheets: source(
    "CPU bus timing",
    "data sheet",
    "read cycles of the CPUs' data sheets: cycle − edge − address delay − set-up = access (MC6809E; 6502 and Z80 from memory)",
  ),
  uartSampling: source(
    "UART sampling",
    "data sheet",
    "receiver tables of UART data sheets: middle of the last bit, sixteen samples a bit",
  ),
  moduleCrc: source(
    "SPM",
    "manual",
    "6809 system programmer's manual, January 1983: module header parity and 24-bit CRC",
  ),
  arithmetic: source("arithmetic", "arithmetic", "plain arithmetic on the values shown"),
  common: source("common practice", "common practice", "common practice, no source"),
  displays: source("ISO 9241-303", "standard", "ISO 9241-303, character height as a visual angle (from memory)"),
} as const satisfies Record<string, Source>;
