export { Cpu6502 } from "./6502/cpu.ts";
export { Cpu6809 } from "./6809/cpu.ts";
export { type Access, type Device, type Mapping, PagedBus } from "./bus.ts";
export type { Bus, Condition, Cpu, CpuState, Line, Register } from "./types.ts";
export { CpuZ80 } from "./z80/cpu.ts";
