export * from "./infer.ts";
export { type Run, type Waveform, waveformOfSamples } from "./waveform.ts";
