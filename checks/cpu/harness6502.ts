import { assemble } from "@rouse/core/assemble";
import { Random } from "./random.ts";

/**
 * A 6502 program that tries one opcode many times: it reads a record (operand bytes, registers, stack) from its input, sets
 * them, runs the instruction, and writes the registers and the top of the stack to its output; at the end page zero, the stack
 * and the data. It runs in `sim65` and in our CPU alike; both answer calls at FFF4 to FFF9 (read, write, exit), whose parameters
 * are passed as cc65's C library passes them: a pointer to a parameter stack in page zero, the count in A and X.
 */

/** Operand bytes, A, X, Y, P, S, three bytes of the stack. */
export const RECORD = 10;
/** A, X, Y, P, S, three bytes of the stack. */
export const RESULT = 8;
/** Page zero pointer to the parameter stack. The program keeps what a test has there. */
export const POINTER = 0xfe;
export const CALLS = { read: 0xfff6, write: 0xfff7, exit: 0xfff9 };

/** Bytes of one value from here to FIELD_END are INX: a jump that lands there shows in X how far it went. */
const FIELD = 0x3000;
const FIELD_END = 0x3500;
/** Where the instruction stands: near the end of a page and near the start of one, so that branches go over both. */
const SLOTS = [0x30f0, 0x3108];
const INX = 0xe8;
const NOP = 0xea;
const JMP = 0x4c;
/** Operands outside page zero. */
const DATA = 0x4000;
const DATA_END = 0x5100;

const harness = (slot: number): string => `
        cpu 6502
        org $2800
start   ldx #<after
        stx $fffe
        ldx #>after
        stx $ffff
        ldx #$ff
        txs
next    jsr keep
        lda #<inwards
        ldy #>inwards
        ldx #0
        jsr point
        lda #${RECORD}
        jsr ${CALLS.read}
        jsr back
        cmp #${RECORD}
        beq go
        lda #<zero
        ldy #>zero
        jsr point
        ldx #>$200
        lda #<$200
        jsr ${CALLS.write}
        lda #<data
        ldy #>data
        jsr point
        ldx #>$${(DATA_END - DATA).toString(16)}
        lda #0
        jsr ${CALLS.write}
        lda #0
        jsr ${CALLS.exit}
go      lda record
        sta ${slot + 1}
        lda record+1
        sta ${slot + 2}
        ldx record+6
        txs
        lda record+7
        sta $101,x
        lda record+8
        sta $102,x
        lda record+9
        sta $103,x
        lda record+5
        pha
        lda record+2
        ldx record+3
        ldy record+4
        plp
        jmp ${slot}
after   php
        sta result
        stx result+1
        sty result+2
        pla
        sta result+3
        cld
        tsx
        stx result+4
        lda $101,x
        sta result+5
        lda $102,x
        sta result+6
        lda $103,x
        sta result+7
        ldx #$ff
        txs
        jsr keep
        lda #<outwards
        ldy #>outwards
        ldx #0
        jsr point
        lda #${RESULT}
        jsr ${CALLS.write}
        jsr back
        jmp next
keep    ldx ${POINTER}
        stx kept
        ldx ${POINTER + 1}
        stx kept+1
        rts
back    ldx kept
        stx ${POINTER}
        ldx kept+1
        stx ${POINTER + 1}
        rts
point   sta ${POINTER}
        sty ${POINTER + 1}
        rts
kept    fcb 0,0
inwards fdb record, 0
outwards fdb result, 1
zero    fdb 0, 1
data    fdb ${DATA}, 1
record  ds ${RECORD}
result  ds ${RESULT}
`;

export interface Tried {
  mnemonic: string;
  /** As in the assembler's table. */
  mode: string;
  opcode: number;
}

export interface Batch {
  /** Memory from 0 on; the program starts at `start`. */
  image: Uint8Array;
  start: number;
  records: Uint8Array;
}

/** Modes by the assembler's table; how many operand bytes each has. */
const LENGTHS: Readonly<Record<string, number>> = { imp: 0, acc: 0, abs: 2, abx: 2, aby: 2, ind: 2 };

/** Addresses of FIELD that fall on an INX or on the start of a jump, whichever slot is in use. */
function landing(random: Random, slot: number): number {
  for (;;) {
    const at = 0x3100 + random.below(0x400);
    if (at < slot - 3 || at > slot + 5) return at;
  }
}

function offset(random: Random): number {
  for (;;) {
    const value = random.below(256);
    // −4 to −1 would land in the slot or the jump before it, 2 and 3 in the jump behind it.
    if (value < 0xfc && value !== 2 && value !== 3) return value;
  }
}

const D = 0x08;

/** `count` records for one documented opcode, and the memory that they meet. */
export function batch({ mnemonic, mode, opcode }: Tried, count: number, seed: number): Batch {
  const random = new Random(seed);
  const slot = SLOTS[seed % SLOTS.length]!;
  const { segments, symbols, errors } = assemble(harness(slot));
  if (errors[0]) throw new Error(errors[0].sentence);
  const image = new Uint8Array(DATA_END);
  random.fill(image);
  const pointing = (first: number, last: number, high: number, span: number) => {
    for (let at = first; at < last; at++) image[at] = high + random.below(span);
  };
  // Two bytes of 40 to 4F point into the data, two of 31 to 34 into the field.
  if (mode === "izx" || mode === "izy") pointing(0, 0x100, 0x40, 16);
  if (mode === "ind") pointing(DATA, DATA_END, 0x31, 4);
  image.fill(INX, FIELD, FIELD_END);
  const after = symbols.get("after")!;
  // The count of cycles that sim65 prints follows the data at once.
  image[DATA_END - 1] = 0;
  const jump = [JMP, after & 0xff, after >> 8];
  image.set(jump, FIELD_END);
  image.set([...jump, opcode, NOP, NOP, ...jump], slot - 3);
  for (const { address, bytes } of segments) image.set(bytes, address);

  const records = new Uint8Array(count * RECORD);
  const flow = ["JMP", "JSR"].includes(mnemonic) && mode === "abs";
  const returns = mnemonic === "RTS" || mnemonic === "RTI";
  for (let at = 0; at < records.length; at += RECORD) {
    const target = landing(random, slot);
    const length = LENGTHS[mode] ?? 1;
    let low = length > 0 ? random.byte() : NOP;
    let high = length > 1 ? 0x40 + random.below(16) : NOP;
    if (flow) {
      low = target & 0xff;
      high = target >> 8;
    }
    if (mode === "rel") low = offset(random);
    // Left out because of sim65: see compare6502.ts.
    if (mnemonic === "CMP" && mode === "izy" && low === 0xff) low = 0xfe;
    // RTS adds one to what it pulls.
    const pulled = mnemonic === "RTS" ? target - 1 : target;
    const stack = returns
      ? [...(mnemonic === "RTI" ? [random.byte()] : []), pulled & 0xff, pulled >> 8, random.byte()].slice(0, 3)
      : [random.byte(), random.byte(), random.byte()];
    // Returns don't wrap here: what lies beyond the stack page is not the stack.
    const pointer = returns ? random.below(0xfc) : random.byte();
    const [a, x, y, p] = [random.byte(), random.byte(), random.byte(), random.byte()];
    records.set([low, high, a, x, y, mnemonic === "SBC" ? p & ~D : p, pointer, ...stack], at);
  }
  return { image, start: symbols.get("start")!, records };
}
