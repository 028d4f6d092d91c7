export { runBridge } from "./bridge.ts";
export { CaptureFile } from "./capture-file.ts";
export {
  type ControlResult,
  controlWords,
  lineVerdict,
  type RateResult,
  ratesUpTo,
  testControls,
  testLine,
} from "./line-test.ts";
export { type ListedPort, listPorts } from "./list.ts";
export { bestHeard, type Heard, hearLine } from "./listen.ts";
export type { LineEvents, LinePort, LineSettings, LinesIn, LinesOut } from "./port.ts";
export { keepDate, saveBeside, untilStopped } from "./saved.ts";
export { RealPort } from "./serial.ts";
export { LineSession, type LinkState, type SessionEvent, type SessionOptions } from "./session.ts";
export { answerTime, runTransfer, type TransferRun, type Way } from "./transfer.ts";
