export { checksum, header, makeBlock, readBlock, readHeader, safeName } from "./block.ts";
export { Receiver, type ReceiverOptions } from "./receiver.ts";
export { Sender } from "./sender.ts";
export * from "./text.ts";
export type { Protocol, Step, TransferEvent, TransferFile, TransferMachine, TransferOptions } from "./types.ts";
