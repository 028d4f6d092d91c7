import { BugError } from "../../errors/index.ts";
import {
  add8,
  add16,
  asl,
  asr,
  clear,
  com,
  dec,
  inc,
  lsr,
  neg,
  rol,
  ror,
  sub8,
  sub16,
  test8,
  test16,
} from "./arithmetic.ts";
import { CONDITIONS, TAKEN } from "./conditions.ts";
import type { Cpu6809 } from "./cpu.ts";
import { indexed, OFFSET_BYTES } from "./indexed.ts";
import { OPERATIONS, type Operation } from "./operations.ts";
import { pullReturn, pullS, pushReturn, pushS } from "./stack.ts";
import { MODES, PAGE2, PAGE3, ROWS } from "./table.ts";

/** Operations in the switch of `run`, in the order of its cases; what they do stands there. `B` and `LB` are all branches but LBRA. */
const SWITCHED =
  "LDA STA ADDA ADCA SUBA SBCA CMPA ANDA BITA EORA ORA NEGA COMA LSRA RORA ASRA ASLA ROLA DECA INCA TSTA CLRA LDB STB ADDB ADCB SUBB SBCB CMPB ANDB BITB EORB ORB NEGB COMB LSRB RORB ASRB ASLB ROLB DECB INCB TSTB CLRB NEG COM LSR ROR ASR ASL ROL DEC INC TST CLR LDD LDX LDY LDU LDS STD STX STY STU STS ADDD SUBD CMPD CMPX CMPY CMPU CMPS LEAX LEAY LEAU LEAS ABX B LB JMP JSR RTS PSHS PULS".split(
    " ",
  );

/** Other names of a case. */
const SAME: Readonly<Record<string, string>> = { LBRA: "JMP", BSR: "JSR", LBSR: "JSR" };

/** Whose operand is a byte, or a word, of memory: it is read before the operation. */
const READS_BYTE = /^(LD|ADD|ADC|SUB|SBC|CMP|AND|BIT|EOR|OR)[AB]$|^(NEG|COM|LSR|ROR|ASR|ASL|ROL|DEC|INC|TST|CLR)$/;
const READS_WORD = /^(LD|ADD|SUB|CMP)[DXYUS]$/;

/** What is not in the switch, by row. */
const rest: (Operation | undefined)[] = [];

/**
 * An opcode in one number, by row: place in SWITCHED or the first number after it, mode, cycles, whether the operand is read as a
 * byte or a word, and the condition of a branch. Rows after a prefix lie from PAGE2 and PAGE3 on.
 */
const INFO = Int32Array.from(ROWS.operation, (name = "", row) => {
  const mode = ROWS.mode[row]!;
  const cycles = ROWS.cycles[row]!;
  const [, branch, condition = ""] = /^(L?B)(..)$/.exec(name) ?? [];
  const taken = name in SAME ? -1 : CONDITIONS.indexOf(condition);
  const place = SWITCHED.indexOf(taken < 0 ? (SAME[name] ?? name) : branch!);
  if (place < 0) {
    rest[row] = OPERATIONS[name];
    if (!OPERATIONS[name] && name !== "" && !name.startsWith("PAGE")) throw new BugError(`6809: no operation ${name}`);
  }
  const isMemory = !MODES[mode]!.startsWith("imm");
  const reads = isMemory && READS_BYTE.test(name) ? 1 : isMemory && READS_WORD.test(name) ? 2 : 0;
  return (
    (place < 0 ? SWITCHED.length : place) | (mode << 8) | (cycles << 11) | (reads << 16) | (Math.max(0, taken) << 20)
  );
});

/**
 * Runs one instruction, then more while cycles are left. Modes are places in MODES and operations in SWITCHED, written out: a
 * bundler turns a name into a variable that is looked up each time.
 */
export function run(cpu: Cpu6809): void {
  const { bus } = cpu;
  const taken = TAKEN;
  do {
    if (cpu.attention !== 0 && cpu.attend()) continue;
    const { pc } = cpu;
    let next = (pc + 1) & 0xffff;
    let word = bus.ahead(pc);
    if (word === -1) word = collect(cpu, pc, 0);
    let row = word & 0xff;
    if ((row & 0xfe) === 0x10 /* a prefix */) {
      const page = row === 0x10 ? PAGE2 : PAGE3;
      word = bus.ahead(next);
      if (word === -1) word = collect(cpu, next, page);
      row = page + (word & 0xff);
      next = (next + 1) & 0xffff;
    }
    const info = INFO[row]!;
    bus.left -= (info >> 11) & 0x1f;
    let at = 0;
    let operand = (word >> 8) & 0xff;
    switch ((info >> 8) & 7) {
      case 0 /* none */:
        cpu.pc = next;
        break;
      case 1 /* imm8 */:
        cpu.pc = (next + 1) & 0xffff;
        break;
      case 2 /* imm16 */:
        cpu.pc = (next + 2) & 0xffff;
        operand = (operand << 8) | ((word >> 16) & 0xff);
        break;
      case 3 /* dir */:
        cpu.pc = (next + 1) & 0xffff;
        at = (cpu.dp << 8) | operand;
        break;
      case 4 /* idx */:
        at = indexed(cpu, operand, word >> 16, (next + 1) & 0xffff);
        if (at < 0) {
          cpu.stop(pc);
          continue;
        }
        break;
      case 5 /* ext */:
        cpu.pc = (next + 2) & 0xffff;
        at = (operand << 8) | ((word >> 16) & 0xff);
        break;
      case 6 /* rel8 */:
        cpu.pc = (next + 1) & 0xffff;
        at = (next + 1 + ((operand << 24) >> 24)) & 0xffff;
        break;
      default: // rel16
        cpu.pc = (next + 2) & 0xffff;
        at = (next + 2 + ((operand << 8) | ((word >> 16) & 0xff))) & 0xffff;
    }
    if (info & 0x1_0000) operand = bus.read(at);
    else if (info & 0x2_0000) operand = cpu.read16(at);
    switch (info & 0xff) {
      case 0 /* LDA */:
        cpu.a = test8(cpu, operand);
        break;
      case 1 /* STA */:
        bus.write(at, test8(cpu, cpu.a));
        break;
      case 2 /* ADDA */:
        cpu.a = add8(cpu, cpu.a, operand, 0);
        break;
      case 3 /* ADCA */:
        cpu.a = add8(cpu, cpu.a, operand, cpu.cc & 1);
        break;
      case 4 /* SUBA */:
        cpu.a = sub8(cpu, cpu.a, operand, 0);
        break;
      case 5 /* SBCA */:
        cpu.a = sub8(cpu, cpu.a, operand, cpu.cc & 1);
        break;
      case 6 /* CMPA */:
        sub8(cpu, cpu.a, operand, 0);
        break;
      case 7 /* ANDA */:
        cpu.a = test8(cpu, cpu.a & operand);
        break;
      case 8 /* BITA */:
        test8(cpu, cpu.a & operand);
        break;
      case 9 /* EORA */:
        cpu.a = test8(cpu, cpu.a ^ operand);
        break;
      case 10 /* ORA */:
        cpu.a = test8(cpu, cpu.a | operand);
        break;
      case 11 /* NEGA */:
        cpu.a = neg(cpu, cpu.a);
        break;
      case 12 /* COMA */:
        cpu.a = com(cpu, cpu.a);
        break;
      case 13 /* LSRA */:
        cpu.a = lsr(cpu, cpu.a);
        break;
      case 14 /* RORA */:
        cpu.a = ror(cpu, cpu.a);
        break;
      case 15 /* ASRA */:
        cpu.a = asr(cpu, cpu.a);
        break;
      case 16 /* ASLA */:
        cpu.a = asl(cpu, cpu.a);
        break;
      case 17 /* ROLA */:
        cpu.a = rol(cpu, cpu.a);
        break;
      case 18 /* DECA */:
        cpu.a = dec(cpu, cpu.a);
        break;
      case 19 /* INCA */:
        cpu.a = inc(cpu, cpu.a);
        break;
      case 20 /* TSTA */:
        test8(cpu, cpu.a);
        break;
      case 21 /* CLRA */:
        cpu.a = clear(cpu);
        break;
      case 22 /* LDB */:
        cpu.b = test8(cpu, operand);
        break;
      case 23 /* STB */:
        bus.write(at, test8(cpu, cpu.b));
        break;
      case 24 /* ADDB */:
        cpu.b = add8(cpu, cpu.b, operand, 0);
        break;
      case 25 /* ADCB */:
        cpu.b = add8(cpu, cpu.b, operand, cpu.cc & 1);
        break;
      case 26 /* SUBB */:
        cpu.b = sub8(cpu, cpu.b, operand, 0);
        break;
      case 27 /* SBCB */:
        cpu.b = sub8(cpu, cpu.b, operand, cpu.cc & 1);
        break;
      case 28 /* CMPB */:
        sub8(cpu, cpu.b, operand, 0);
        break;
      case 29 /* ANDB */:
        cpu.b = test8(cpu, cpu.b & operand);
        break;
      case 30 /* BITB */:
        test8(cpu, cpu.b & operand);
        break;
      case 31 /* EORB */:
        cpu.b = test8(cpu, cpu.b ^ operand);
        break;
      case 32 /* ORB */:
        cpu.b = test8(cpu, cpu.b | operand);
        break;
      case 33 /* NEGB */:
        cpu.b = neg(cpu, cpu.b);
        break;
      case 34 /* COMB */:
        cpu.b = com(cpu, cpu.b);
        break;
      case 35 /* LSRB */:
        cpu.b = lsr(cpu, cpu.b);
        break;
      case 36 /* RORB */:
        cpu.b = ror(cpu, cpu.b);
        break;
      case 37 /* ASRB */:
        cpu.b = asr(cpu, cpu.b);
        break;
      case 38 /* ASLB */:
        cpu.b = asl(cpu, cpu.b);
        break;
      case 39 /* ROLB */:
        cpu.b = rol(cpu, cpu.b);
        break;
      case 40 /* DECB */:
        cpu.b = dec(cpu, cpu.b);
        break;
      case 41 /* INCB */:
        cpu.b = inc(cpu, cpu.b);
        break;
      case 42 /* TSTB */:
        test8(cpu, cpu.b);
        break;
      case 43 /* CLRB */:
        cpu.b = clear(cpu);
        break;
      case 44 /* NEG */:
        bus.write(at, neg(cpu, operand));
        break;
      case 45 /* COM */:
        bus.write(at, com(cpu, operand));
        break;
      case 46 /* LSR */:
        bus.write(at, lsr(cpu, operand));
        break;
      case 47 /* ROR */:
        bus.write(at, ror(cpu, operand));
        break;
      case 48 /* ASR */:
        bus.write(at, asr(cpu, operand));
        break;
      case 49 /* ASL */:
        bus.write(at, asl(cpu, operand));
        break;
      case 50 /* ROL */:
        bus.write(at, rol(cpu, operand));
        break;
      case 51 /* DEC */:
        bus.write(at, dec(cpu, operand));
        break;
      case 52 /* INC */:
        bus.write(at, inc(cpu, operand));
        break;
      case 53 /* TST */:
        test8(cpu, operand);
        break;
      case 54 /* CLR */:
        bus.write(at, clear(cpu));
        break;
      case 55 /* LDD */:
        test16(cpu, operand);
        cpu.a = operand >> 8;
        cpu.b = operand & 0xff;
        break;
      case 56 /* LDX */:
        cpu.x = test16(cpu, operand);
        break;
      case 57 /* LDY */:
        cpu.y = test16(cpu, operand);
        break;
      case 58 /* LDU */:
        cpu.u = test16(cpu, operand);
        break;
      case 59 /* LDS */:
        cpu.s = test16(cpu, operand);
        cpu.armNmi();
        break;
      case 60 /* STD */:
        cpu.write16(at, test16(cpu, cpu.d));
        break;
      case 61 /* STX */:
        cpu.write16(at, test16(cpu, cpu.x));
        break;
      case 62 /* STY */:
        cpu.write16(at, test16(cpu, cpu.y));
        break;
      case 63 /* STU */:
        cpu.write16(at, test16(cpu, cpu.u));
        break;
      case 64 /* STS */:
        cpu.write16(at, test16(cpu, cpu.s));
        break;
      case 65 /* ADDD */:
        cpu.d = add16(cpu, cpu.d, operand);
        break;
      case 66 /* SUBD */:
        cpu.d = sub16(cpu, cpu.d, operand);
        break;
      case 67 /* CMPD */:
        sub16(cpu, cpu.d, operand);
        break;
      case 68 /* CMPX */:
        sub16(cpu, cpu.x, operand);
        break;
      case 69 /* CMPY */:
        sub16(cpu, cpu.y, operand);
        break;
      case 70 /* CMPU */:
        sub16(cpu, cpu.u, operand);
        break;
      case 71 /* CMPS */:
        sub16(cpu, cpu.s, operand);
        break;
      case 72 /* LEAX */:
        cpu.cc = (cpu.cc & 0xfb) | (at === 0 ? 0x04 : 0);
        cpu.x = at;
        break;
      case 73 /* LEAY */:
        cpu.cc = (cpu.cc & 0xfb) | (at === 0 ? 0x04 : 0);
        cpu.y = at;
        break;
      case 74 /* LEAU */:
        cpu.u = at;
        break;
      case 75 /* LEAS */:
        cpu.s = at;
        cpu.armNmi();
        break;
      case 76 /* ABX */:
        cpu.x = (cpu.x + cpu.b) & 0xffff;
        break;
      case 77 /* B */:
        if ((taken[info >> 20]! >> (cpu.cc & 0x0f)) & 1) cpu.pc = at;
        break;
      case 78 /* LB */:
        if ((taken[info >> 20]! >> (cpu.cc & 0x0f)) & 1) {
          cpu.pc = at;
          bus.left--;
        }
        break;
      case 79 /* JMP */:
        cpu.pc = at;
        break;
      case 80 /* JSR */:
        pushReturn(cpu);
        cpu.pc = at;
        break;
      case 81 /* RTS */:
        pullReturn(cpu);
        break;
      case 82 /* PSHS */:
        pushS(cpu, operand);
        break;
      case 83 /* PULS */:
        pullS(cpu, operand);
        break;
      default: {
        const operation = rest[row];
        if (operation) operation(cpu, operand);
        else cpu.stop(pc);
      }
    }
  } while (bus.left > 0);
}

/** Bytes of an operand by the place of its mode; those of `idx` by its postbyte. */
const OPERAND_BYTES = [0, 1, 2, 1, 1, 2, 1, 2];

/** The bytes of the instruction at an address, after its prefix if it has one, read one by one, the opcode lowest. */
function collect({ bus }: Cpu6809, at: number, page: number): number {
  let word = bus.read(at);
  const row = page + word;
  if (!ROWS.operation[row]) return word;
  const mode = ROWS.mode[row]!;
  for (let i = 1; i <= OPERAND_BYTES[mode]!; i++) word |= bus.read((at + i) & 0xffff) << (8 * i);
  const more = MODES[mode] === "idx" ? OFFSET_BYTES[word >> 8]! : 0;
  for (let i = 2; i < 2 + more; i++) word |= bus.read((at + i) & 0xffff) << (8 * i);
  return word;
}
