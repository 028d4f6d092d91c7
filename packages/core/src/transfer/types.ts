/** A file to send, or one that has come. */
export interface TransferFile {
  name: string;
  bytes: Uint8Array;
  /** Seconds since 1970-01-01 00:00 UTC, where it is known. */
  modified?: number;
}

export type TransferEvent =
  | { kind: "file begins"; name: string; length?: number; modified?: number }
  /** Bytes of the file that the other end has confirmed, or that have come. */
  | { kind: "progress"; bytes: number; length?: number }
  /** A block was wrong or missing and is asked for, or sent, again. `why` is a sentence for a person. */
  | { kind: "retry"; block: number; why: string }
  | { kind: "file ends"; file: TransferFile; exact: boolean }
  | { kind: "done" }
  | { kind: "failed"; why: string };

/** What a machine wants done now. `wake` is the time in ms at which to call `tick`, unless bytes come before. */
export interface Step {
  send: Uint8Array;
  events: TransferEvent[];
  wake?: number;
}

/**
 * One end of a transfer as a pure machine: bytes and clock times (ms, from any origin) go in; bytes, events and the next
 * wake-up come out. It never reads a clock and never throws on data.
 */
export interface TransferMachine {
  start(now: number): Step;
  receive(bytes: Uint8Array, now: number): Step;
  tick(now: number): Step;
  /** Tells the other end that it is over, and ends. */
  cancel(now: number): Step;
  /** True once it is done or has failed. */
  readonly ended: boolean;
}

export type Protocol = "xmodem" | "xmodem-crc" | "xmodem-1k" | "ymodem";

export interface TransferOptions {
  /** Attempts at one block, or at the start, before giving up; 10 unless said. */
  retries?: number;
  /** Ms without an answer before asking again; 10 000 unless said. */
  timeout?: number;
}

export const SOH = 0x01;
export const STX = 0x02;
export const EOT = 0x04;
export const ACK = 0x06;
export const NAK = 0x15;
export const CAN = 0x18;
export const SUB = 0x1a;
export const BS = 0x08;
/** "C": asks for CRC. */
export const ASK_CRC = 0x43;

/** Enough for any receiver to take it as meant, and as many BS to take them off a command line (Forsberg 1988). */
export const CANCEL: readonly number[] = [CAN, CAN, CAN, CAN, CAN, CAN, CAN, CAN, BS, BS, BS, BS, BS, BS, BS, BS];
