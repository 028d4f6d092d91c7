export { type AdapterCommand, runAdapter } from "./adapter.ts";
export { type DeviceOpener, realOpener } from "./device.ts";
export { type BadBlock, type Progress, saveBefore, verifyBlocks, writeBlocks } from "./engine.ts";
export { refuseUnfit, type TargetFacts, targetFacts } from "./facts.ts";
export { beginJournal, continueJournal, endJournal, type JournalHead, readJournal } from "./journal.ts";
export { type Certificate, planWrite, runWrite, type WritePlan, type WriteRequest } from "./session.ts";
