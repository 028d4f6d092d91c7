import { assemble } from "@rouse/core/assemble";
import { INSTRUCTIONS_Z80, REGISTERS_Z80 } from "../../packages/core/src/assemble/tables/z80.ts";
import { Random } from "./random.ts";

/**
 * A Z80 program that goes through a list of records in memory: it sets the registers from a record, runs the instruction that
 * the record holds, and puts the registers back in their place; at the end it halts. It runs in `sz80` and in our CPU alike.
 */

/** Four bytes of instruction, SP, IX, IY, BC, DE, HL, AF; words low byte first. */
export const RECORD = 18;
export const WORDS = ["SP", "IX", "IY", "BC", "DE", "HL", "AF"] as const;
export const RECORDS_AT = 0x2000;
export const MOST_RECORDS = 2200;
/** Data that instructions work on; registers that point somewhere point into the middle of it. */
export const DATA = 0x0800;
export const DATA_END = 0x1800;
/** INC E up to here: a jump that lands in it shows in E how far it went. Bytes 04 and 05 make such an address. */
const FIELD = 0x0400;
const FIELD_END = 0x0600;
const SLOT = 0x0390;
const INC_E = 0x1c;

const harness = (count: number): string => `
        cpu z80
        org $200
start   ld hl,(next)
        ld sp,hl
        pop hl
        ld (${SLOT}),hl
        pop hl
        ld (${SLOT + 2}),hl
        pop hl
        ld (pointer),hl
        pop ix
        pop iy
        pop bc
        pop de
        pop hl
        pop af
        ld sp,(pointer)
        jp ${SLOT}
after   ld (pointer),sp
        ld sp,(behind)
        push af
        push hl
        push de
        push bc
        push iy
        push ix
        ld hl,(pointer)
        push hl
        ld de,${RECORD}
        ld hl,(next)
        add hl,de
        ld (next),hl
        ld hl,(behind)
        add hl,de
        ld (behind),hl
        ld hl,(left)
        dec hl
        ld (left),hl
        ld a,h
        or l
        jp nz,start
        halt
next    defw ${RECORDS_AT}
behind  defw ${RECORDS_AT + RECORD}
left    defw ${count}
pointer defw 0
`;

export interface Batch {
  image: Uint8Array;
  start: number;
  count: number;
}

/** One line of a table of instructions: its text, and its bytes with letters for what varies. */
export interface Tried {
  text: string;
  bytes: readonly string[];
}

const readRows = (table: string): Tried[] =>
  table
    .trim()
    .split("\n")
    .map((line) => {
      const [, text, bytes] = /^(\S+(?: \S+)?)\s+((?:X|[0-9A-F]{2})\S*(?: \S+)*?)\s+\d+(?:\/\d+)?$/.exec(line.trim())!;
      return { text: text!, bytes: bytes!.split(" ") };
    });

/** Documented instructions, but HALT (it ends the program) and IM (its bytes follow another pattern). */
export const DOCUMENTED: readonly Tried[] = readRows(INSTRUCTIONS_Z80).filter(
  ({ text }) => text !== "HALT" && text !== "IM m",
);

/** Undocumented ones: common practice. `h` stands for the register bytes with IX or IY halves for H and L. */
export const UNDOCUMENTED: readonly Tried[] = readRows(`
LD h,h       X 40+8s+r       8
LD h,n       X 06+8r n       11
INC h        X 04+8r         8
DEC h        X 05+8r         8
ADD A,h      X 80+s          8
ADC A,h      X 88+s          8
SUB h        X 90+s          8
SBC A,h      X 98+s          8
AND h        X A0+s          8
XOR h        X A8+s          8
OR h         X B0+s          8
CP h         X B8+s          8
SLL s        CB 30+s         8
SLL (HL)     CB 36           15
SLL (X+d)    X CB d 36       23
RLC (X+d),s  X CB d 00+s     23
RRC (X+d),s  X CB d 08+s     23
RL (X+d),s   X CB d 10+s     23
RR (X+d),s   X CB d 18+s     23
SLA (X+d),s  X CB d 20+s     23
SRA (X+d),s  X CB d 28+s     23
SLL (X+d),s  X CB d 30+s     23
SRL (X+d),s  X CB d 38+s     23
RES (X+d),s  X CB d 080+8b+s 23
SET (X+d),s  X CB d C0+8b+s  23
BIT (X+d),s  X CB d 40+8b+s  20
`);

/** Whether an instruction takes a return address from the stack. */
export const isReturn = ({ text }: Tried): boolean => text.startsWith("RET");

const letterValue = (letter: string, random: Random): number => {
  const choices = REGISTERS_Z80[letter];
  if (choices) return choices[random.below(choices.length)]![1];
  return letter === "p" ? 8 * random.below(8) : random.below(8);
};

function opcodeByte(token: string, random: Random): number {
  const [start, ...terms] = token.split("+") as [string, ...string[]];
  if (start === "X") return letterValue("X", random);
  return terms.reduce(
    (sum, term) => {
      const [, factor, letter] = /^(\d*)([a-z]+)$/.exec(term)!;
      return sum + Number(factor || 1) * letterValue(letter!, random);
    },
    Number.parseInt(start, 16),
  );
}

/** Into the middle of the data, so that a displacement stays within. */
const pointer = (random: Random): number => DATA + 0x100 + random.below(DATA_END - DATA - 0x200);

/** An address of FIELD, but in the slot. */
const landing = (random: Random): number => FIELD + random.below(FIELD_END - FIELD);

/** A branch from the slot: on, over the jump behind it into FIELD, or back before the slot. */
function offset(random: Random): number {
  for (;;) {
    const value = random.below(256);
    if (value === 0 || (value > 5 && value < 0xf6)) return value;
  }
}

function instruction({ text, bytes }: Tried, random: Random): number[] {
  const word = /^(JP|CALL)/.test(text) ? landing(random) : text.includes("(nn)") ? pointer(random) : random.word();
  const found = bytes.flatMap((token) => {
    if (token === "nn") return [word & 0xff, word >> 8];
    if (token === "n" || token === "d") return [random.byte()];
    if (token === "e") return [offset(random)];
    return [opcodeByte(token, random)];
  });
  return [...found, 0, 0, 0, 0].slice(0, 4);
}

function registers({ text }: Tried, random: Random): number[] {
  const block = /^(LDI|LDD|CPI|CPD|INI|IND|OUTI|OUTD|OTIR|OTDR)/.test(text);
  const points = block || text.includes("(");
  const word = () => (points ? pointer(random) : random.word());
  const [ix, iy, de, af] = [word(), word(), word(), random.word()];
  let bc = word();
  let hl = word();
  let [x, y] = [ix, iy];
  if (text === "JP (HL)") hl = landing(random);
  if (text === "JP (X)") [x, y] = [landing(random), landing(random)];
  // Repeats stay short: BC for a move or search, B for ports.
  if (/^(LD|CP)[ID]R/.test(text)) bc = 1 + random.below(12);
  else if (/^(IN|OT)[ID]R/.test(text)) bc = ((1 + random.below(6)) << 8) | random.byte();
  const list = [pointer(random), x, y, bc, de, hl, af];
  return list.flatMap((value) => [value & 0xff, value >> 8]);
}

/** `count` records, turn by turn of the given instructions; returns are tried apart, on data that lead into FIELD. */
export function batch(tried: readonly Tried[], count: number, seed: number): Batch {
  const random = new Random(seed);
  const { segments, symbols, errors } = assemble(harness(count));
  if (errors[0]) throw new Error(errors[0].sentence);
  const image = new Uint8Array(RECORDS_AT + count * RECORD);
  const after = symbols.get("after")!;
  const jump = [0xc3, after & 0xff, after >> 8];
  for (let restart = 0; restart < 0x40; restart += 8) image.set(jump, restart);
  image.fill(INC_E, 0x300, FIELD_END);
  image.set([...jump, 0, 0, 0, 0, ...jump], SLOT - 3);
  image.set(jump, FIELD_END);
  for (const { address, bytes } of segments) image.set(bytes, address);
  const returns = isReturn(tried[0]!);
  for (let at = DATA; at < DATA_END; at++) image[at] = returns ? 4 + random.below(2) : random.byte();
  for (let i = 0; i < count; i++) {
    const each = tried[i % tried.length]!;
    image.set([...instruction(each, random), ...registers(each, random)], RECORDS_AT + i * RECORD);
  }
  return { image, start: symbols.get("start")!, count };
}
