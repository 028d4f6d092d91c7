/**
 * The Z80's documented instructions: Z80 CPU user manual UM0080. Columns: mnemonic and operands; bytes; T states (`7/12`:
 * condition false/true, or the last turn/each turn before it). Small letters stand for what varies:
 * `r` `s` one of B C D E H L A (0 to 5, 7); `dd` BC DE HL SP (0 to 3), `ds` the same without HL; `qq` BC DE HL AF; `cc` NZ Z
 * NC C PO PE P M (0 to 7), `jc` the first four; `X` IX or IY, whose byte is DD or FD; `n` a byte, `nn` a word, low byte first;
 * `d` a displacement, `e` a branch; `b` a bit number, `p` an address of RST, `m` an interrupt mode.
 */
export const INSTRUCTIONS_Z80 = `
LD r,s         40+8r+s          4
LD r,n         06+8r n          7
LD r,(HL)      46+8r            7
LD r,(X+d)     X 46+8r d        19
LD (HL),r      70+r             7
LD (X+d),r     X 70+r d         19
LD (HL),n      36 n             10
LD (X+d),n     X 36 d n         19
LD A,(BC)      0A               7
LD A,(DE)      1A               7
LD A,(nn)      3A nn            13
LD (BC),A      02               7
LD (DE),A      12               7
LD (nn),A      32 nn            13
LD A,I         ED 57            9
LD A,R         ED 5F            9
LD I,A         ED 47            9
LD R,A         ED 4F            9
LD dd,nn       01+16dd nn       10
LD X,nn        X 21 nn          14
LD HL,(nn)     2A nn            16
LD ds,(nn)     ED 4B+16ds nn    20
LD X,(nn)      X 2A nn          20
LD (nn),HL     22 nn            16
LD (nn),ds     ED 43+16ds nn    20
LD (nn),X      X 22 nn          20
LD SP,HL       F9               6
LD SP,X        X F9             10
PUSH qq        C5+16qq          11
PUSH X         X E5             15
POP qq         C1+16qq          10
POP X          X E1             14
EX DE,HL       EB               4
EX AF,AF'      08               4
EX (SP),HL     E3               19
EX (SP),X      X E3             23
EXX            D9               4
LDI            ED A0            16
LDIR           ED B0            16/21
LDD            ED A8            16
LDDR           ED B8            16/21
CPI            ED A1            16
CPIR           ED B1            16/21
CPD            ED A9            16
CPDR           ED B9            16/21
ADD A,s        80+s             4
ADD A,n        C6 n             7
ADD A,(HL)     86               7
ADD A,(X+d)    X 86 d           19
ADC A,s        88+s             4
ADC A,n        CE n             7
ADC A,(HL)     8E               7
ADC A,(X+d)    X 8E d           19
SUB s          90+s             4
SUB n          D6 n             7
SUB (HL)       96               7
SUB (X+d)      X 96 d           19
SBC A,s        98+s             4
SBC A,n        DE n             7
SBC A,(HL)     9E               7
SBC A,(X+d)    X 9E d           19
AND s          A0+s             4
AND n          E6 n             7
AND (HL)       A6               7
AND (X+d)      X A6 d           19
XOR s          A8+s             4
XOR n          EE n             7
XOR (HL)       AE               7
XOR (X+d)      X AE d           19
OR s           B0+s             4
OR n           F6 n             7
OR (HL)        B6               7
OR (X+d)       X B6 d           19
CP s           B8+s             4
CP n           FE n             7
CP (HL)        BE               7
CP (X+d)       X BE d           19
INC r          04+8r            4
INC (HL)       34               11
INC (X+d)      X 34 d           23
DEC r          05+8r            4
DEC (HL)       35               11
DEC (X+d)      X 35 d           23
DAA            27               4
CPL            2F               4
NEG            ED 44            8
CCF            3F               4
SCF            37               4
NOP            00               4
HALT           76               4
DI             F3               4
EI             FB               4
IM m           ED m             8
ADD HL,dd      09+16dd          11
ADC HL,dd      ED 4A+16dd       15
SBC HL,dd      ED 42+16dd       15
ADD X,BC       X 09             15
ADD X,DE       X 19             15
ADD X,X        X 29             15
ADD X,SP       X 39             15
INC dd         03+16dd          6
INC X          X 23             10
DEC dd         0B+16dd          6
DEC X          X 2B             10
RLCA           07               4
RLA            17               4
RRCA           0F               4
RRA            1F               4
RLC s          CB 00+s          8
RLC (HL)       CB 06            15
RLC (X+d)      X CB d 06        23
RL s           CB 10+s          8
RL (HL)        CB 16            15
RL (X+d)       X CB d 16        23
RRC s          CB 08+s          8
RRC (HL)       CB 0E            15
RRC (X+d)      X CB d 0E        23
RR s           CB 18+s          8
RR (HL)        CB 1E            15
RR (X+d)       X CB d 1E        23
SLA s          CB 20+s          8
SLA (HL)       CB 26            15
SLA (X+d)      X CB d 26        23
SRA s          CB 28+s          8
SRA (HL)       CB 2E            15
SRA (X+d)      X CB d 2E        23
SRL s          CB 38+s          8
SRL (HL)       CB 3E            15
SRL (X+d)      X CB d 3E        23
RLD            ED 6F            18
RRD            ED 67            18
BIT b,s        CB 40+8b+s       8
BIT b,(HL)     CB 46+8b         12
BIT b,(X+d)    X CB d 46+8b     20
SET b,s        CB C0+8b+s       8
SET b,(HL)     CB C6+8b         15
SET b,(X+d)    X CB d C6+8b     23
RES b,s        CB 80+8b+s       8
RES b,(HL)     CB 86+8b         15
RES b,(X+d)    X CB d 86+8b     23
JP nn          C3 nn            10
JP cc,nn       C2+8cc nn        10
JP (HL)        E9               4
JP (X)         X E9             8
JR e           18 e             12
JR jc,e        20+8jc e         7/12
DJNZ e         10 e             8/13
CALL nn        CD nn            17
CALL cc,nn     C4+8cc nn        10/17
RET            C9               10
RET cc         C0+8cc           5/11
RETI           ED 4D            14
RETN           ED 45            14
RST p          C7+p             11
IN A,(n)       DB n             11
IN r,(C)       ED 40+8r         12
INI            ED A2            16
INIR           ED B2            16/21
IND            ED AA            16
INDR           ED BA            16/21
OUT (n),A      D3 n             11
OUT (C),r      ED 41+8r         12
OUTI           ED A3            16
OTIR           ED B3            16/21
OUTD           ED AB            16
OTDR           ED BB            16/21
`;

/** What the letters for registers and conditions stand for, with the number that goes into the opcode. */
export const REGISTERS_Z80: Readonly<Record<string, readonly (readonly [string, number])[]>> = {
  r: [
    ["B", 0],
    ["C", 1],
    ["D", 2],
    ["E", 3],
    ["H", 4],
    ["L", 5],
    ["A", 7],
  ],
  s: [
    ["B", 0],
    ["C", 1],
    ["D", 2],
    ["E", 3],
    ["H", 4],
    ["L", 5],
    ["A", 7],
  ],
  dd: [
    ["BC", 0],
    ["DE", 1],
    ["HL", 2],
    ["SP", 3],
  ],
  ds: [
    ["BC", 0],
    ["DE", 1],
    ["SP", 3],
  ],
  qq: [
    ["BC", 0],
    ["DE", 1],
    ["HL", 2],
    ["AF", 3],
  ],
  cc: [
    ["NZ", 0],
    ["Z", 1],
    ["NC", 2],
    ["C", 3],
    ["PO", 4],
    ["PE", 5],
    ["P", 6],
    ["M", 7],
  ],
  jc: [
    ["NZ", 0],
    ["Z", 1],
    ["NC", 2],
    ["C", 3],
  ],
  X: [
    ["IX", 0xdd],
    ["IY", 0xfd],
  ],
};
