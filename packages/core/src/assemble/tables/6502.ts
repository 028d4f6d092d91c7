/**
 * The 6502's documented instructions: MCS6500 programming manual, appendix B. One line a mnemonic; then mode, opcode and
 * cycles, for every mode it has. Modes: `imp` implied, `acc` accumulator, `imm` immediate, `zp` `zpx` `zpy` zero page,
 * `abs` `abx` `aby` absolute, `ind` indirect, `izx` `(n,X)`, `izy` `(n),Y`, `rel` branch. `4/5`: one more where a page is
 * crossed; branches `2/4`: one more if taken, another one into a different page.
 */
export const INSTRUCTIONS_6502 = `
ADC  imm 69  2    zp 65  3   zpx 75  4   abs 6D  4   abx 7D  4/5  aby 79  4/5  izx 61  6  izy 71  5/6
AND  imm 29  2    zp 25  3   zpx 35  4   abs 2D  4   abx 3D  4/5  aby 39  4/5  izx 21  6  izy 31  5/6
ASL  acc 0A  2    zp 06  5   zpx 16  6   abs 0E  6   abx 1E  7
BCC  rel 90  2/4
BCS  rel B0  2/4
BEQ  rel F0  2/4
BIT  zp 24  3     abs 2C  4
BMI  rel 30  2/4
BNE  rel D0  2/4
BPL  rel 10  2/4
BRK  imp 00  7
BVC  rel 50  2/4
BVS  rel 70  2/4
CLC  imp 18  2
CLD  imp D8  2
CLI  imp 58  2
CLV  imp B8  2
CMP  imm C9  2    zp C5  3   zpx D5  4   abs CD  4   abx DD  4/5  aby D9  4/5  izx C1  6  izy D1  5/6
CPX  imm E0  2    zp E4  3   abs EC  4
CPY  imm C0  2    zp C4  3   abs CC  4
DEC  zp C6  5     zpx D6  6  abs CE  6   abx DE  7
DEX  imp CA  2
DEY  imp 88  2
EOR  imm 49  2    zp 45  3   zpx 55  4   abs 4D  4   abx 5D  4/5  aby 59  4/5  izx 41  6  izy 51  5/6
INC  zp E6  5     zpx F6  6  abs EE  6   abx FE  7
INX  imp E8  2
INY  imp C8  2
JMP  abs 4C  3    ind 6C  5
JSR  abs 20  6
LDA  imm A9  2    zp A5  3   zpx B5  4   abs AD  4   abx BD  4/5  aby B9  4/5  izx A1  6  izy B1  5/6
LDX  imm A2  2    zp A6  3   zpy B6  4   abs AE  4   aby BE  4/5
LDY  imm A0  2    zp A4  3   zpx B4  4   abs AC  4   abx BC  4/5
LSR  acc 4A  2    zp 46  5   zpx 56  6   abs 4E  6   abx 5E  7
NOP  imp EA  2
ORA  imm 09  2    zp 05  3   zpx 15  4   abs 0D  4   abx 1D  4/5  aby 19  4/5  izx 01  6  izy 11  5/6
PHA  imp 48  3
PHP  imp 08  3
PLA  imp 68  4
PLP  imp 28  4
ROL  acc 2A  2    zp 26  5   zpx 36  6   abs 2E  6   abx 3E  7
ROR  acc 6A  2    zp 66  5   zpx 76  6   abs 6E  6   abx 7E  7
RTI  imp 40  6
RTS  imp 60  6
SBC  imm E9  2    zp E5  3   zpx F5  4   abs ED  4   abx FD  4/5  aby F9  4/5  izx E1  6  izy F1  5/6
SEC  imp 38  2
SED  imp F8  2
SEI  imp 78  2
STA  zp 85  3     zpx 95  4  abs 8D  4   abx 9D  5   aby 99  5    izx 81  6    izy 91  6
STX  zp 86  3     zpy 96  4  abs 8E  4
STY  zp 84  3     zpx 94  4  abs 8C  4
TAX  imp AA  2
TAY  imp A8  2
TSX  imp BA  2
TXA  imp 8A  2
TXS  imp 9A  2
TYA  imp 98  2
`;
