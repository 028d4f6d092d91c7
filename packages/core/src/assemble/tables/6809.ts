/**
 * The 6809's instructions: MC6809 data sheet, appendix of the programming manual M6809PM. One line a mnemonic; then mode,
 * opcode and cycles, for every mode it has. Modes: `inh` inherent, `imm8` and `imm16` immediate, `dir` direct, `idx`
 * indexed (cycles without those of the postbyte), `ext` extended, `rel8` and `rel16` branches (`5/6`: not taken/taken),
 * `pair` two registers, `push` a register list (one cycle more a byte).
 * CWAI: 20 or more; SYNC: 4 or more; RTI: 6 with FIRQ's short frame, 15 with the whole one.
 */
export const INSTRUCTIONS_6809 = `
ABX    inh 3A  3
ADCA   imm8 89  2    dir 99  4    idx A9  4    ext B9  5
ADCB   imm8 C9  2    dir D9  4    idx E9  4    ext F9  5
ADDA   imm8 8B  2    dir 9B  4    idx AB  4    ext BB  5
ADDB   imm8 CB  2    dir DB  4    idx EB  4    ext FB  5
ADDD   imm16 C3  4   dir D3  6    idx E3  6    ext F3  7
ANDA   imm8 84  2    dir 94  4    idx A4  4    ext B4  5
ANDB   imm8 C4  2    dir D4  4    idx E4  4    ext F4  5
ANDCC  imm8 1C  3
ASL    dir 08  6     idx 68  6    ext 78  7
ASLA   inh 48  2
ASLB   inh 58  2
ASR    dir 07  6     idx 67  6    ext 77  7
ASRA   inh 47  2
ASRB   inh 57  2
BCC    rel8 24  3
BCS    rel8 25  3
BEQ    rel8 27  3
BGE    rel8 2C  3
BGT    rel8 2E  3
BHI    rel8 22  3
BHS    rel8 24  3
BITA   imm8 85  2    dir 95  4    idx A5  4    ext B5  5
BITB   imm8 C5  2    dir D5  4    idx E5  4    ext F5  5
BLE    rel8 2F  3
BLO    rel8 25  3
BLS    rel8 23  3
BLT    rel8 2D  3
BMI    rel8 2B  3
BNE    rel8 26  3
BPL    rel8 2A  3
BRA    rel8 20  3
BRN    rel8 21  3
BSR    rel8 8D  7
BVC    rel8 28  3
BVS    rel8 29  3
CLR    dir 0F  6     idx 6F  6    ext 7F  7
CLRA   inh 4F  2
CLRB   inh 5F  2
CMPA   imm8 81  2    dir 91  4    idx A1  4    ext B1  5
CMPB   imm8 C1  2    dir D1  4    idx E1  4    ext F1  5
CMPD   imm16 1083  5 dir 1093  7  idx 10A3  7  ext 10B3  8
CMPS   imm16 118C  5 dir 119C  7  idx 11AC  7  ext 11BC  8
CMPU   imm16 1183  5 dir 1193  7  idx 11A3  7  ext 11B3  8
CMPX   imm16 8C  4   dir 9C  6    idx AC  6    ext BC  7
CMPY   imm16 108C  5 dir 109C  7  idx 10AC  7  ext 10BC  8
COM    dir 03  6     idx 63  6    ext 73  7
COMA   inh 43  2
COMB   inh 53  2
CWAI   imm8 3C  20
DAA    inh 19  2
DEC    dir 0A  6     idx 6A  6    ext 7A  7
DECA   inh 4A  2
DECB   inh 5A  2
EORA   imm8 88  2    dir 98  4    idx A8  4    ext B8  5
EORB   imm8 C8  2    dir D8  4    idx E8  4    ext F8  5
EXG    pair 1E  8
INC    dir 0C  6     idx 6C  6    ext 7C  7
INCA   inh 4C  2
INCB   inh 5C  2
JMP    dir 0E  3     idx 6E  3    ext 7E  4
JSR    dir 9D  7     idx AD  7    ext BD  8
LBCC   rel16 1024  5/6
LBCS   rel16 1025  5/6
LBEQ   rel16 1027  5/6
LBGE   rel16 102C  5/6
LBGT   rel16 102E  5/6
LBHI   rel16 1022  5/6
LBHS   rel16 1024  5/6
LBLE   rel16 102F  5/6
LBLO   rel16 1025  5/6
LBLS   rel16 1023  5/6
LBLT   rel16 102D  5/6
LBMI   rel16 102B  5/6
LBNE   rel16 1026  5/6
LBPL   rel16 102A  5/6
LBRA   rel16 16  5
LBRN   rel16 1021  5
LBSR   rel16 17  9
LBVC   rel16 1028  5/6
LBVS   rel16 1029  5/6
LDA    imm8 86  2    dir 96  4    idx A6  4    ext B6  5
LDB    imm8 C6  2    dir D6  4    idx E6  4    ext F6  5
LDD    imm16 CC  3   dir DC  5    idx EC  5    ext FC  6
LDS    imm16 10CE  4 dir 10DE  6  idx 10EE  6  ext 10FE  7
LDU    imm16 CE  3   dir DE  5    idx EE  5    ext FE  6
LDX    imm16 8E  3   dir 9E  5    idx AE  5    ext BE  6
LDY    imm16 108E  4 dir 109E  6  idx 10AE  6  ext 10BE  7
LEAS   idx 32  4
LEAU   idx 33  4
LEAX   idx 30  4
LEAY   idx 31  4
LSL    dir 08  6     idx 68  6    ext 78  7
LSLA   inh 48  2
LSLB   inh 58  2
LSR    dir 04  6     idx 64  6    ext 74  7
LSRA   inh 44  2
LSRB   inh 54  2
MUL    inh 3D  11
NEG    dir 00  6     idx 60  6    ext 70  7
NEGA   inh 40  2
NEGB   inh 50  2
NOP    inh 12  2
ORA    imm8 8A  2    dir 9A  4    idx AA  4    ext BA  5
ORB    imm8 CA  2    dir DA  4    idx EA  4    ext FA  5
ORCC   imm8 1A  3
PSHS   push 34  5
PSHU   push 36  5
PULS   push 35  5
PULU   push 37  5
ROL    dir 09  6     idx 69  6    ext 79  7
ROLA   inh 49  2
ROLB   inh 59  2
ROR    dir 06  6     idx 66  6    ext 76  7
RORA   inh 46  2
RORB   inh 56  2
RTI    inh 3B  6/15
RTS    inh 39  5
SBCA   imm8 82  2    dir 92  4    idx A2  4    ext B2  5
SBCB   imm8 C2  2    dir D2  4    idx E2  4    ext F2  5
SEX    inh 1D  2
STA    dir 97  4     idx A7  4    ext B7  5
STB    dir D7  4     idx E7  4    ext F7  5
STD    dir DD  5     idx ED  5    ext FD  6
STS    dir 10DF  6   idx 10EF  6  ext 10FF  7
STU    dir DF  5     idx EF  5    ext FF  6
STX    dir 9F  5     idx AF  5    ext BF  6
STY    dir 109F  6   idx 10AF  6  ext 10BF  7
SUBA   imm8 80  2    dir 90  4    idx A0  4    ext B0  5
SUBB   imm8 C0  2    dir D0  4    idx E0  4    ext F0  5
SUBD   imm16 83  4   dir 93  6    idx A3  6    ext B3  7
SWI    inh 3F  19
SWI2   inh 103F  20
SWI3   inh 113F  20
SYNC   inh 13  4
TFR    pair 1F  6
TST    dir 0D  6     idx 6D  6    ext 7D  7
TSTA   inh 4D  2
TSTB   inh 5D  2
`;

/** The indexed postbyte: form, bits beside those of the register, cycles and (all but `[n]`) cycles of the indirect form. */
export const POSTBYTES_6809 = {
  none: { bits: 0x84, cycles: 0, indirect: 3 },
  five: { bits: 0x00, cycles: 1, indirect: undefined },
  eight: { bits: 0x88, cycles: 1, indirect: 4 },
  sixteen: { bits: 0x89, cycles: 4, indirect: 7 },
  A: { bits: 0x86, cycles: 1, indirect: 4 },
  B: { bits: 0x85, cycles: 1, indirect: 4 },
  D: { bits: 0x8b, cycles: 4, indirect: 7 },
  "+": { bits: 0x80, cycles: 2, indirect: undefined },
  "++": { bits: 0x81, cycles: 3, indirect: 6 },
  "-": { bits: 0x82, cycles: 2, indirect: undefined },
  "--": { bits: 0x83, cycles: 3, indirect: 6 },
  pcr8: { bits: 0x8c, cycles: 1, indirect: 4 },
  pcr16: { bits: 0x8d, cycles: 5, indirect: 8 },
  extended: { bits: 0x8f, cycles: undefined, indirect: 5 },
} as const;

/** Registers that index, in bits 5 and 6 of the postbyte. */
export const INDEX_REGISTERS_6809: Readonly<Record<string, number>> = { X: 0x00, Y: 0x20, U: 0x40, S: 0x60 };

/** Register numbers of TFR and EXG; bit 3 tells the 8-bit ones. */
export const PAIR_REGISTERS_6809: Readonly<Record<string, number>> = {
  D: 0,
  X: 1,
  Y: 2,
  U: 3,
  S: 4,
  PC: 5,
  A: 8,
  B: 9,
  CC: 10,
  CCR: 10,
  DP: 11,
  DPR: 11,
};

/** Bits of the register list of PSHS and PULS; on PSHU and PULU, S stands where U is. */
export const LIST_REGISTERS_6809: Readonly<Record<string, number>> = {
  CC: 0x01,
  CCR: 0x01,
  A: 0x02,
  B: 0x04,
  D: 0x06,
  DP: 0x08,
  DPR: 0x08,
  X: 0x10,
  Y: 0x20,
  U: 0x40,
  S: 0x40,
  PC: 0x80,
};
