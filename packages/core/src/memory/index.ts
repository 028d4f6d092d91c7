export { evaluate, orderOf } from "./algebra.ts";
export { analyse, type DecodeProof, type MapFindings, proveDecoding, type Range, type Run, runsOf } from "./analyse.ts";
export { MemoryMap, memoryMapOf } from "./map.ts";
export { type ChipAt, chipsAt, type Part } from "./parts.ts";
export { type MemoryPicture, pictureOf } from "./picture.ts";
export { maskLogic, type Proof, proveEqual, rangeLogic } from "./prove.ts";
export { type Placed, type Room, roomFor, roomsOf } from "./room.ts";
export { type Answer, type FullAnswer, type Segment, segmentAt } from "./segments.ts";
export { type Latch, type MapState, parseState, stateText, type Translation, withEntry } from "./state.ts";
