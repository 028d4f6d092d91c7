export * from "./infer.ts";
export * from "./uart-reading.ts";
export { type Run, type Waveform, waveformOfSamples, waveformOfSignal } from "./waveform.ts";
