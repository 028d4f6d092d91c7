import { decode } from "../table.ts";

/**
 * How an instruction finds its operand; the operation gets the operand's address. Those with `w` are the indexed ones of
 * instructions that write: they always spend the cycle that the others spend only where the index crosses a page.
 */
export const MODES = [
  "none",
  "imm",
  "zp",
  "zpx",
  "zpy",
  "izx",
  "izy",
  "izyw",
  "rel",
  "abs",
  "abx",
  "abxw",
  "aby",
  "abyw",
  "ind",
] as const;

/**
 * Operation; then mode, opcode and cycles, without those for a crossed page or a branch taken. Source: MCS6500 programming
 * manual, appendix B; the second half, which the makers don't document, is common practice.
 */
const TABLE = `
ADC  imm 69 2  zp 65 3  zpx 75 4  abs 6D 4  abx 7D 4  aby 79 4  izx 61 6  izy 71 5
AND  imm 29 2  zp 25 3  zpx 35 4  abs 2D 4  abx 3D 4  aby 39 4  izx 21 6  izy 31 5
ASLA none 0A 2
ASL  zp 06 5   zpx 16 6  abs 0E 6  abxw 1E 7
BCC  rel 90 2
BCS  rel B0 2
BEQ  rel F0 2
BMI  rel 30 2
BNE  rel D0 2
BPL  rel 10 2
BVC  rel 50 2
BVS  rel 70 2
BIT  zp 24 3   abs 2C 4
BRK  none 00 7
CLC  none 18 2
CLD  none D8  2
CLI  none 58 2
CLV  none B8 2
CMP  imm C9 2  zp C5 3  zpx D5 4  abs CD 4  abx DD 4  aby D9 4  izx C1 6  izy D1 5
CPX  imm E0 2  zp E4 3  abs EC 4
CPY  imm C0 2  zp C4 3  abs CC 4
DEC  zp C6 5   zpx D6 6  abs CE 6  abxw DE 7
DEX  none CA 2
DEY  none 88 2
EOR  imm 49 2  zp 45 3  zpx 55 4  abs 4D 4  abx 5D 4  aby 59 4  izx 41 6  izy 51 5
INC  zp E6 5   zpx F6 6  abs EE 6  abxw FE 7
INX  none E8 2
INY  none C8 2
JMP  abs 4C 3  ind 6C 5
JSR  none 20 6
LDA  imm A9 2  zp A5 3  zpx B5 4  abs AD 4  abx BD 4  aby B9 4  izx A1 6  izy B1 5
LDX  imm A2 2  zp A6 3  zpy B6 4  abs AE 4  aby BE 4
LDY  imm A0 2  zp A4 3  zpx B4 4  abs AC 4  abx BC 4
LSRA none 4A 2
LSR  zp 46 5   zpx 56 6  abs 4E 6  abxw 5E 7
NOP  none EA 2
ORA  imm 09 2  zp 05 3  zpx 15 4  abs 0D 4  abx 1D 4  aby 19 4  izx 01 6  izy 11 5
PHA  none 48 3
PHP  none 08 3
PLA  none 68 4
PLP  none 28 4
ROLA none 2A 2
ROL  zp 26 5   zpx 36 6  abs 2E 6  abxw 3E 7
RORA none 6A 2
ROR  zp 66 5   zpx 76 6  abs 6E 6  abxw 7E 7
RTI  none 40 6
RTS  none 60 6
SBC  imm E9 2  zp E5 3  zpx F5 4  abs ED 4  abx FD 4  aby F9 4  izx E1 6  izy F1 5
SEC  none 38 2
SED  none F8 2
SEI  none 78 2
STA  zp 85 3   zpx 95 4  abs 8D 4  abxw 9D 5  abyw 99 5  izx 81 6  izyw 91 6
STX  zp 86 3   zpy 96 4  abs 8E 4
STY  zp 84 3   zpx 94 4  abs 8C 4
TAX  none AA 2
TAY  none A8 2
TSX  none BA 2
TXA  none 8A 2
TXS  none 9A 2
TYA  none 98 2
`;

/** Not documented by the makers. JAM never ends. */
const UNDOCUMENTED = `
SLO  zp 07 5   zpx 17 6  abs 0F 6  abxw 1F 7  abyw 1B 7  izx 03 8  izyw 13 8
RLA  zp 27 5   zpx 37 6  abs 2F 6  abxw 3F 7  abyw 3B 7  izx 23 8  izyw 33 8
SRE  zp 47 5   zpx 57 6  abs 4F 6  abxw 5F 7  abyw 5B 7  izx 43 8  izyw 53 8
RRA  zp 67 5   zpx 77 6  abs 6F 6  abxw 7F 7  abyw 7B 7  izx 63 8  izyw 73 8
DCP  zp C7 5   zpx D7 6  abs CF 6  abxw DF 7  abyw DB 7  izx C3 8  izyw D3 8
ISC  zp E7 5   zpx F7 6  abs EF 6  abxw FF 7  abyw FB 7  izx E3 8  izyw F3 8
SAX  zp 87 3   zpy 97 4  abs 8F 4  izx 83 6
LAX  zp A7 3   zpy B7 4  abs AF 4  aby BF 4   izx A3 6   izy B3 5
ANC  imm 0B 2  imm 2B 2
ALR  imm 4B 2
ARR  imm 6B 2
ANE  imm 8B 2
LXA  imm AB 2
SBX  imm CB 2
SBC  imm EB 2
LAS  aby BB 4
SHA  abyw 9F 5  izyw 93 6
SHX  abyw 9E 5
SHY  abxw 9C 5
TAS  abyw 9B 5
NOP  none 1A 2  none 3A 2  none 5A 2  none 7A 2  none DA 2  none FA 2
SKIP imm 80 2  imm 82 2  imm 89 2  imm C2 2  imm E2 2  zp 04 3  zp 44 3  zp 64 3
SKIP zpx 14 4  zpx 34 4  zpx 54 4  zpx 74 4  zpx D4 4  zpx F4 4  abs 0C 4
SKIP abx 1C 4  abx 3C 4  abx 5C 4  abx 7C 4  abx DC 4  abx FC 4
JAM  none 02 2  none 12 2  none 22 2  none 32 2  none 42 2  none 52 2
JAM  none 62 2  none 72 2  none 92 2  none B2 2  none D2 2  none F2 2
`;

export const ROWS = decode(TABLE + UNDOCUMENTED.trim(), MODES, { "": 0 });
