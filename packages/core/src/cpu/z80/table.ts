import { BugError } from "../../errors/index.ts";

/**
 * How an instruction finds its operand. The operation gets, for `imm` and `nn`, the byte or word after the opcode; for `mem`
 * the address that HL, IX+d or IY+d points to, the target of a branch for `rel`; `pre` is a prefix.
 */
export const MODES = ["none", "imm", "nn", "mem", "rel", "pre"] as const;

/**
 * Operation with the letters it depends on, mode, opcode and T states (without those for a condition met or a block repeated).
 * Letters: `r` `s` one of B C D E H L A (0 to 5, 7); `d` BC DE HL SP and `q` BC DE HL AF (0 to 3), `i` BC DE; `c` NZ Z NC C PO PE P M;
 * `j` the first four of these; `b` a bit number, or the address of RST in eights. Source: Z80 CPU user manual UM0080.
 * A name with `@` works on the byte at the operand's address. After DD or FD the same rows hold with IX or IY for HL: four T states more, and eight for `mem`.
 */
const TABLE = `
NOP          none  00        4
LDD   d      nn    01+16d    10
LDMA  i      none  02+16i    7
LDAM  i      none  0A+16i    7
INCD  d      none  03+16d    6
DECD  d      none  0B+16d    6
INC   r      none  04+8r     4
DEC   r      none  05+8r     4
INC@         mem   34        11
DEC@         mem   35        11
LDN   r      imm   06+8r     7
LDMN         mem   36        10
RLCA         none  07        4
RRCA         none  0F        4
RLA          none  17        4
RRA          none  1F        4
EXAF         none  08        4
ADDHL d      none  09+16d    11
DJNZ         rel   10        8
JR           rel   18        12
JRC   j      rel   20+8j     7
LDNNHL       nn    22        16
LDHLNN       nn    2A        16
LDNNA        nn    32        13
LDANN        nn    3A        13
DAA          none  27        4
CPL          none  2F        4
SCF          none  37        4
CCF          none  3F        4
LD    rs     none  40+8r+s   4
LDRM  r      mem   46+8r     7
LDMR  r      mem   70+r      7
HALT         none  76        4
ADD   s      none  80+s      4
ADC   s      none  88+s      4
SUB   s      none  90+s      4
SBC   s      none  98+s      4
AND   s      none  A0+s      4
XOR   s      none  A8+s      4
OR    s      none  B0+s      4
CP    s      none  B8+s      4
ADD@         mem   86        7
ADC@         mem   8E        7
SUB@         mem   96        7
SBC@         mem   9E        7
AND@         mem   A6        7
XOR@         mem   AE        7
OR@          mem   B6        7
CP@          mem   BE        7
ADDN         imm   C6        7
ADCN         imm   CE        7
SUBN         imm   D6        7
SBCN         imm   DE        7
ANDN         imm   E6        7
XORN         imm   EE        7
ORN          imm   F6        7
CPN          imm   FE        7
RETC  c      none  C0+8c     5
POP   q      none  C1+16q    10
JPC   c      nn    C2+8c     10
JP           nn    C3        10
CALLC c      nn    C4+8c     10
PUSH  q      none  C5+16q    11
RST   b      none  C7+8b     11
RET          none  C9        10
CALL         nn    CD        17
OUTNA        imm   D3        11
EXX          none  D9        4
INAN         imm   DB        11
EXSP         none  E3        19
JPHL         none  E9        4
EXDEHL       none  EB        4
DI           none  F3        4
LDSP         none  F9        6
EI           none  FB        4
PREFIXCB     pre   CB        0
PREFIXED     pre   ED        0
PREFIXDD     pre   DD        4
PREFIXFD     pre   FD        4

RLC   s      none  CB00+s    8
RRC   s      none  CB08+s    8
RL    s      none  CB10+s    8
RR    s      none  CB18+s    8
SLA   s      none  CB20+s    8
SRA   s      none  CB28+s    8
SLL   s      none  CB30+s    8
SRL   s      none  CB38+s    8
BIT   bs     none  CB40+8b+s 8
RES   bs     none  CB80+8b+s 8
SET   bs     none  CBC0+8b+s 8
RLC@         mem   CB06      15
RRC@         mem   CB0E      15
RL@          mem   CB16      15
RR@          mem   CB1E      15
SLA@         mem   CB26      15
SRA@         mem   CB2E      15
SLL@         mem   CB36      15
SRL@         mem   CB3E      15
BIT@  b      mem   CB46+8b   12
RES@  b      mem   CB86+8b   15
SET@  b      mem   CBC6+8b   15

IN    r      none  ED40+8r   12
OUT   r      none  ED41+8r   12
INF          none  ED70      12
OUT0         none  ED71      12
SBCHL d      none  ED42+16d  15
ADCHL d      none  ED4A+16d  15
LDNND d      nn    ED43+16d  20
LDDNN d      nn    ED4B+16d  20
NEG   b      none  ED44+8b   8
RETN  b      none  ED45+8b   14
IM    b      none  ED46+8b   8
LDIA         none  ED47      9
LDRA         none  ED4F      9
LDAI         none  ED57      9
LDAR         none  ED5F      9
RRD          none  ED67      18
RLD          none  ED6F      18
LDI          none  EDA0      16
CPI          none  EDA1      16
INI          none  EDA2      16
OUTI         none  EDA3      16
LDD_         none  EDA8      16
CPD          none  EDA9      16
IND          none  EDAA      16
OUTD         none  EDAB      16
LDIR         none  EDB0      16
CPIR         none  EDB1      16
INIR         none  EDB2      16
OTIR         none  EDB3      16
LDDR         none  EDB8      16
CPDR         none  EDB9      16
INDR         none  EDBA      16
OTDR         none  EDBB      16
`;

const RANGES: Readonly<Record<string, readonly number[]>> = {
  r: [0, 1, 2, 3, 4, 5, 7],
  s: [0, 1, 2, 3, 4, 5, 7],
  d: [0, 1, 2, 3],
  q: [0, 1, 2, 3],
  c: [0, 1, 2, 3, 4, 5, 6, 7],
  j: [0, 1, 2, 3],
  i: [0, 1],
  b: [0, 1, 2, 3, 4, 5, 6, 7],
};

export interface Row {
  operation: string;
  /** The row's letters, and their values for this opcode. */
  letters: readonly string[];
  values: readonly number[];
  mode: number;
  cycles: number;
}

/** The rows of one prefix (`""`, `CB`, `ED`) by opcode. ED's gaps do nothing for eight T states. */
function expand(prefix: string): readonly Row[] {
  const found: (Row | undefined)[] = Array(256).fill(undefined);
  for (const line of TABLE.trim().split(/\n+/)) {
    const [operation, ...fields] = line.trim().split(/\s+/) as [string, ...string[]];
    const [mode, opcode, cycles] = fields.slice(-3) as [string, string, string];
    const letters = fields.length === 4 ? [...fields[0]!] : [];
    const [start, ...terms] = opcode.split("+") as [string, ...string[]];
    if (start.slice(0, -2) !== prefix) continue;
    for (const values of combinations(letters)) {
      const at = terms.reduce(
        (sum, term) => sum + (Number.parseInt(term, 10) || 1) * values[letters.indexOf(term.at(-1)!)]!,
        Number.parseInt(start.slice(-2), 16),
      );
      if (found[at]) throw new BugError(`Z80: two rows for ${prefix}${at.toString(16)}`);
      found[at] = { operation, letters, values, mode: MODES.indexOf(mode as "none"), cycles: Number(cycles) };
    }
  }
  return found.map((row) => {
    if (row) return row;
    if (prefix !== "ED") throw new BugError(`Z80: a gap in the table of ${prefix || "unprefixed opcodes"}`);
    return { operation: "NOP", letters: [], values: [], mode: 0, cycles: 8 };
  });
}

const combinations = (letters: readonly string[]): readonly number[][] =>
  letters.reduce<number[][]>(
    (lists, letter) => lists.flatMap((list) => RANGES[letter]!.map((value) => [...list, value])),
    [[]],
  );

export const BASE = expand("");
export const CB = expand("CB");
export const ED = expand("ED");
