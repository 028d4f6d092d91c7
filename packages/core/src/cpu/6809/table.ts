import { decode } from "../table.ts";

/** How an instruction finds its operand. */
export const MODES = ["none", "imm8", "imm16", "dir", "idx", "ext", "rel8", "rel16"] as const;

/**
 * Operation; then mode, opcode and cycles. Source: MC6809 data sheet, programming aid; cycles of `idx` without those of the
 * postbyte, of branches without those of being taken. `none` is inherent; a postbyte that lists registers is immediate.
 */
const TABLE = `
NEG    dir 00 6    idx 60 6    ext 70 7
COM    dir 03 6    idx 63 6    ext 73 7
LSR    dir 04 6    idx 64 6    ext 74 7
ROR    dir 06 6    idx 66 6    ext 76 7
ASR    dir 07 6    idx 67 6    ext 77 7
ASL    dir 08 6    idx 68 6    ext 78 7
ROL    dir 09 6    idx 69 6    ext 79 7
DEC    dir 0A 6    idx 6A 6    ext 7A 7
INC    dir 0C 6    idx 6C 6    ext 7C 7
TST    dir 0D 6    idx 6D 6    ext 7D 7
JMP    dir 0E 3    idx 6E 3    ext 7E 4
CLR    dir 0F 6    idx 6F 6    ext 7F 7
NEGA   none 40 2
COMA   none 43 2
LSRA   none 44 2
RORA   none 46 2
ASRA   none 47 2
ASLA   none 48 2
ROLA   none 49 2
DECA   none 4A 2
INCA   none 4C 2
TSTA   none 4D 2
CLRA   none 4F 2
NEGB   none 50 2
COMB   none 53 2
LSRB   none 54 2
RORB   none 56 2
ASRB   none 57 2
ASLB   none 58 2
ROLB   none 59 2
DECB   none 5A 2
INCB   none 5C 2
TSTB   none 5D 2
CLRB   none 5F 2
PAGE2  none 10 0
PAGE3  none 11 0
NOP    none 12 2
SYNC   none 13 4
LBRA   rel16 16 5
LBSR   rel16 17 9
DAA    none 19 2
ORCC   imm8 1A 3
ANDCC  imm8 1C 3
SEX    none 1D 2
EXG    imm8 1E 8
TFR    imm8 1F 6
BRA    rel8 20 3
BRN    rel8 21 3
BHI    rel8 22 3
BLS    rel8 23 3
BCC    rel8 24 3
BCS    rel8 25 3
BNE    rel8 26 3
BEQ    rel8 27 3
BVC    rel8 28 3
BVS    rel8 29 3
BPL    rel8 2A 3
BMI    rel8 2B 3
BGE    rel8 2C 3
BLT    rel8 2D 3
BGT    rel8 2E 3
BLE    rel8 2F 3
LEAX   idx 30 4
LEAY   idx 31 4
LEAS   idx 32 4
LEAU   idx 33 4
PSHS   imm8 34 5
PULS   imm8 35 5
PSHU   imm8 36 5
PULU   imm8 37 5
RTS    none 39 5
ABX    none 3A 3
RTI    none 3B 6
CWAI   imm8 3C 17
MUL    none 3D 11
SWI    none 3F 19
SUBA   imm8 80 2    dir 90 4    idx A0 4    ext B0 5
CMPA   imm8 81 2    dir 91 4    idx A1 4    ext B1 5
SBCA   imm8 82 2    dir 92 4    idx A2 4    ext B2 5
SUBD   imm16 83 4   dir 93 6    idx A3 6    ext B3 7
ANDA   imm8 84 2    dir 94 4    idx A4 4    ext B4 5
BITA   imm8 85 2    dir 95 4    idx A5 4    ext B5 5
LDA    imm8 86 2    dir 96 4    idx A6 4    ext B6 5
STA    dir 97 4     idx A7 4    ext B7 5
EORA   imm8 88 2    dir 98 4    idx A8 4    ext B8 5
ADCA   imm8 89 2    dir 99 4    idx A9 4    ext B9 5
ORA    imm8 8A 2    dir 9A 4    idx AA 4    ext BA 5
ADDA   imm8 8B 2    dir 9B 4    idx AB 4    ext BB 5
CMPX   imm16 8C 4   dir 9C 6    idx AC 6    ext BC 7
BSR    rel8 8D 7
JSR    dir 9D 7     idx AD 7    ext BD 8
LDX    imm16 8E 3   dir 9E 5    idx AE 5    ext BE 6
STX    dir 9F 5     idx AF 5    ext BF 6
SUBB   imm8 C0 2    dir D0 4    idx E0 4    ext F0 5
CMPB   imm8 C1 2    dir D1 4    idx E1 4    ext F1 5
SBCB   imm8 C2 2    dir D2 4    idx E2 4    ext F2 5
ADDD   imm16 C3 4   dir D3 6    idx E3 6    ext F3 7
ANDB   imm8 C4 2    dir D4 4    idx E4 4    ext F4 5
BITB   imm8 C5 2    dir D5 4    idx E5 4    ext F5 5
LDB    imm8 C6 2    dir D6  4   idx E6 4    ext F6 5
STB    dir D7 4     idx E7 4    ext F7 5
EORB   imm8 C8 2    dir D8 4    idx E8 4    ext F8 5
ADCB   imm8 C9 2    dir D9 4    idx E9 4    ext F9 5
ORB    imm8 CA 2    dir DA 4    idx EA 4    ext FA 5
ADDB   imm8 CB 2    dir DB 4    idx EB 4    ext FB 5
LDD    imm16 CC 3   dir DC 5    idx EC 5    ext FC 6
STD    dir DD 5     idx ED 5    ext FD 6
LDU    imm16 CE 3   dir DE 5    idx EE 5    ext FE 6
STU    dir DF 5     idx EF 5    ext FF 6
LBRN   rel16 1021 5
LBHI   rel16 1022 5
LBLS   rel16 1023 5
LBCC   rel16 1024 5
LBCS   rel16 1025 5
LBNE   rel16 1026 5
LBEQ   rel16 1027 5
LBVC   rel16 1028 5
LBVS   rel16 1029 5
LBPL   rel16 102A 5
LBMI   rel16 102B 5
LBGE   rel16 102C 5
LBLT   rel16 102D 5
LBGT   rel16 102E 5
LBLE   rel16 102F 5
SWI2   none 103F 20
CMPD   imm16 1083 5  dir 1093 7  idx 10A3 7  ext 10B3 8
CMPY   imm16 108C 5  dir 109C 7  idx 10AC 7  ext 10BC 8
LDY    imm16 108E 4  dir 109E 6  idx 10AE 6  ext 10BE 7
STY    dir 109F 6    idx 10AF 6  ext 10BF 7
LDS    imm16 10CE 4  dir 10DE 6  idx 10EE 6  ext 10FE 7
STS    dir 10DF 6    idx 10EF 6  ext 10FF 7
SWI3   none 113F 20
CMPU   imm16 1183 5  dir 1193 7  idx 11A3 7  ext 11B3 8
CMPS   imm16 118C 5  dir 119C 7  idx 11AC 7  ext 11BC 8
`;

/** Where a prefix's opcodes begin in the decoded tables. */
export const PAGE2 = 0x100;
export const PAGE3 = 0x200;
const PREFIX: Readonly<Record<string, number>> = { "": 0, "10": PAGE2, "11": PAGE3 };

export const ROWS = decode(TABLE, MODES, PREFIX);

/**
 * Cycles that an indexed postbyte adds: data sheet, table 2. Postbytes 00 to 7F are five-bit offsets. By the low five bits of
 * the others; −1 where the table has no entry.
 */
const INDEXED = [
  // ,R+ ,R++ ,-R ,--R ,R B,R A,R –    n8 n16 –  D,R n8,PCR n16,PCR – –
  ...[2, 3, 2, 3, 0, 1, 1, -1, 1, 4, -1, 4, 1, 5, -1, -1],
  ...[-1, 6, -1, 6, 3, 4, 4, -1, 4, 7, -1, 7, 4, 8, -1, 5],
];

/** By postbyte. */
export const INDEXED_CYCLES = Int8Array.from({ length: 256 }, (_, postbyte) =>
  postbyte < 0x80 ? 1 : INDEXED[postbyte & 0x1f]!,
);
