import { BugError } from "../../errors/index.ts";
import { adc, asl, dec, inc, lsr, rol, ror, sbc } from "./arithmetic.ts";
import type { Cpu6502 } from "./cpu.ts";
import { OPERATIONS, type Operation, READING, SWITCHED } from "./operations.ts";
import { MODES, ROWS } from "./table.ts";

/** An opcode in one number: place in `SWITCHED` or the first number after it, mode, cycles, whether the operand's value is read. */
const INFO = Int32Array.from(ROWS.operation, (name = "", opcode) => {
  const mode = ROWS.mode[opcode]!;
  const place = SWITCHED.indexOf(name);
  const reads = READING.has(name) && MODES[mode] !== "imm";
  return (place < 0 ? SWITCHED.length : place) | (mode << 8) | (ROWS.cycles[opcode]! << 12) | (reads ? 1 << 16 : 0);
});

/** What is not in the switch, by opcode. */
const REST: readonly (Operation | undefined)[] = ROWS.operation.map((name = "") => {
  if (!SWITCHED.includes(name) && !OPERATIONS[name]) throw new BugError(`6502: no operation ${name}`);
  return OPERATIONS[name];
});

/**
 * Runs one instruction, then more while cycles are left. Modes are places in MODES and operations in SWITCHED, written out: a
 * bundler turns a name into a variable that is looked up each time. As the part does, it reads the byte after the opcode whether it needs it or not.
 */
export function run(cpu: Cpu6502): void {
  const { bus } = cpu;
  do {
    if (cpu.attention !== 0 && cpu.attend()) continue;
    const { pc } = cpu;
    let word = bus.ahead(pc);
    if (word === -1) word = collect(cpu);
    const opcode = word & 0xff;
    const info = INFO[opcode]!;
    bus.left -= (info >> 12) & 0x0f;
    let operand = (word >> 8) & 0xff;
    switch ((info >> 8) & 0x0f) {
      case 0 /* none */:
        cpu.pc = (pc + 1) & 0xffff;
        break;
      case 1 /* imm */:
      case 2 /* zp */:
        cpu.pc = (pc + 2) & 0xffff;
        break;
      case 3 /* zpx */:
        cpu.pc = (pc + 2) & 0xffff;
        operand = (operand + cpu.x) & 0xff;
        break;
      case 4 /* zpy */:
        cpu.pc = (pc + 2) & 0xffff;
        operand = (operand + cpu.y) & 0xff;
        break;
      case 5 /* izx */:
        cpu.pc = (pc + 2) & 0xffff;
        operand = wrapped16(cpu, (operand + cpu.x) & 0xff);
        break;
      case 6 /* izy */:
        cpu.pc = (pc + 2) & 0xffff;
        operand = indexed(cpu, wrapped16(cpu, operand), cpu.y);
        break;
      case 7 /* izyw */:
        cpu.pc = (pc + 2) & 0xffff;
        operand = indexedWrite(cpu, wrapped16(cpu, operand), cpu.y);
        break;
      case 8 /* rel */:
        cpu.pc = (pc + 2) & 0xffff;
        operand = (pc + 2 + ((operand << 24) >> 24)) & 0xffff;
        break;
      case 9 /* abs */:
        cpu.pc = (pc + 3) & 0xffff;
        operand = (word >> 8) & 0xffff;
        break;
      case 10 /* abx */:
        cpu.pc = (pc + 3) & 0xffff;
        operand = indexed(cpu, (word >> 8) & 0xffff, cpu.x);
        break;
      case 11 /* abxw */:
        cpu.pc = (pc + 3) & 0xffff;
        operand = indexedWrite(cpu, (word >> 8) & 0xffff, cpu.x);
        break;
      case 12 /* aby */:
        cpu.pc = (pc + 3) & 0xffff;
        operand = indexed(cpu, (word >> 8) & 0xffff, cpu.y);
        break;
      case 13 /* abyw */:
        cpu.pc = (pc + 3) & 0xffff;
        operand = indexedWrite(cpu, (word >> 8) & 0xffff, cpu.y);
        break;
      default:
        /* ind */ cpu.pc = (pc + 3) & 0xffff;
        operand = wrapped16(cpu, (word >> 8) & 0xffff);
    }
    if (info & 0x1_0000) operand = bus.read(operand);
    switch (info & 0xff) {
      case 0 /* LDA */:
        cpu.n = cpu.z = cpu.a = operand;
        break;
      case 1 /* LDX */:
        cpu.n = cpu.z = cpu.x = operand;
        break;
      case 2 /* LDY */:
        cpu.n = cpu.z = cpu.y = operand;
        break;
      case 12 /* STA */:
        bus.write(operand, cpu.a);
        break;
      case 13 /* STX */:
        bus.write(operand, cpu.x);
        break;
      case 14 /* STY */:
        bus.write(operand, cpu.y);
        break;
      case 3 /* AND */:
        cpu.n = cpu.z = cpu.a = cpu.a & operand;
        break;
      case 4 /* ORA */:
        cpu.n = cpu.z = cpu.a = cpu.a | operand;
        break;
      case 5 /* EOR */:
        cpu.n = cpu.z = cpu.a = cpu.a ^ operand;
        break;
      case 6 /* ADC */:
        adc(cpu, operand);
        break;
      case 7 /* SBC */:
        sbc(cpu, operand);
        break;
      case 8 /* CMP */:
        cpu.c = cpu.a >= operand ? 1 : 0;
        cpu.n = cpu.z = (cpu.a - operand) & 0xff;
        break;
      case 9 /* CPX */:
        cpu.c = cpu.x >= operand ? 1 : 0;
        cpu.n = cpu.z = (cpu.x - operand) & 0xff;
        break;
      case 10 /* CPY */:
        cpu.c = cpu.y >= operand ? 1 : 0;
        cpu.n = cpu.z = (cpu.y - operand) & 0xff;
        break;
      case 11 /* BIT */:
        cpu.n = operand;
        cpu.z = cpu.a & operand;
        cpu.rest = (cpu.rest & 0x3c) | (operand & 0x40);
        break;
      case 15 /* BPL */:
        if ((cpu.n & 0x80) === 0) branch(cpu, operand);
        break;
      case 16 /* BMI */:
        if ((cpu.n & 0x80) !== 0) branch(cpu, operand);
        break;
      case 17 /* BVC */:
        if ((cpu.rest & 0x40) === 0) branch(cpu, operand);
        break;
      case 18 /* BVS */:
        if ((cpu.rest & 0x40) !== 0) branch(cpu, operand);
        break;
      case 19 /* BCC */:
        if (cpu.c === 0) branch(cpu, operand);
        break;
      case 20 /* BCS */:
        if (cpu.c !== 0) branch(cpu, operand);
        break;
      case 21 /* BNE */:
        if (cpu.z !== 0) branch(cpu, operand);
        break;
      case 22 /* BEQ */:
        if (cpu.z === 0) branch(cpu, operand);
        break;
      case 23 /* INX */:
        cpu.n = cpu.z = cpu.x = (cpu.x + 1) & 0xff;
        break;
      case 24 /* INY */:
        cpu.n = cpu.z = cpu.y = (cpu.y + 1) & 0xff;
        break;
      case 25 /* DEX */:
        cpu.n = cpu.z = cpu.x = (cpu.x - 1) & 0xff;
        break;
      case 26 /* DEY */:
        cpu.n = cpu.z = cpu.y = (cpu.y - 1) & 0xff;
        break;
      case 27 /* TAX */:
        cpu.n = cpu.z = cpu.x = cpu.a;
        break;
      case 28 /* TAY */:
        cpu.n = cpu.z = cpu.y = cpu.a;
        break;
      case 29 /* TXA */:
        cpu.n = cpu.z = cpu.a = cpu.x;
        break;
      case 30 /* TYA */:
        cpu.n = cpu.z = cpu.a = cpu.y;
        break;
      case 31 /* ASL */:
        bus.write(operand, asl(cpu, cpu.take(operand)));
        break;
      case 32 /* LSR */:
        bus.write(operand, lsr(cpu, cpu.take(operand)));
        break;
      case 33 /* ROL */:
        bus.write(operand, rol(cpu, cpu.take(operand)));
        break;
      case 34 /* ROR */:
        bus.write(operand, ror(cpu, cpu.take(operand)));
        break;
      case 35 /* INC */:
        bus.write(operand, inc(cpu, cpu.take(operand)));
        break;
      case 36 /* DEC */:
        bus.write(operand, dec(cpu, cpu.take(operand)));
        break;
      case 37 /* ASLA */:
        cpu.a = asl(cpu, cpu.a);
        break;
      case 38 /* LSRA */:
        cpu.a = lsr(cpu, cpu.a);
        break;
      case 39 /* ROLA */:
        cpu.a = rol(cpu, cpu.a);
        break;
      case 40 /* RORA */:
        cpu.a = ror(cpu, cpu.a);
        break;
      case 41 /* CLC */:
        cpu.c = 0;
        break;
      case 42 /* SEC */:
        cpu.c = 1;
        break;
      case 43 /* PHA */:
        cpu.push(cpu.a);
        break;
      case 44 /* PLA */:
        cpu.n = cpu.z = cpu.a = cpu.pull();
        break;
      case 45 /* JMP */:
        cpu.pc = operand;
        break;
      case 46 /* JSR */:
        call(cpu);
        break;
      case 47 /* RTS */:
        cpu.pc = (cpu.pull16() + 1) & 0xffff;
        break;
      default:
        REST[opcode]!(cpu, operand);
    }
  } while (bus.left > 0);
}

/** The bytes of the instruction at PC read one by one, the opcode lowest. */
function collect(cpu: Cpu6502): number {
  const { bus, pc } = cpu;
  const word = bus.read(pc) | (bus.read((pc + 1) & 0xffff) << 8);
  const isLong = ROWS.mode[word & 0xff]! > 8;
  return isLong ? word | (bus.read((pc + 2) & 0xffff) << 16) : word;
}

/** Both bytes from one page: in page zero, and the NMOS part's JMP (nnFF). */
function wrapped16(cpu: Cpu6502, at: number): number {
  return cpu.bus.read(at) | (cpu.bus.read((at & 0xff00) | ((at + 1) & 0xff)) << 8);
}

/** Where the index crosses a page: one cycle more, in which the part reads without the carry. */
function indexed(cpu: Cpu6502, base: number, index: number): number {
  const at = (base + index) & 0xffff;
  if (((at ^ base) & 0xff00) !== 0) {
    cpu.bus.left--;
    cpu.bus.read((base & 0xff00) | (at & 0xff));
  }
  return at;
}

function indexedWrite(cpu: Cpu6502, base: number, index: number): number {
  const at = (base + index) & 0xffff;
  cpu.bus.read((base & 0xff00) | (at & 0xff));
  return at;
}

/** A branch taken: one cycle more, two into another page. */
function branch(cpu: Cpu6502, at: number): void {
  cpu.bus.left -= ((at ^ cpu.pc) & 0xff00) === 0 ? 1 : 2;
  cpu.pc = at;
}

/** The return address is that of the last byte of JSR, which is fetched after the push. */
function call(cpu: Cpu6502): void {
  const low = cpu.bus.read(cpu.pc);
  cpu.pc = (cpu.pc + 1) & 0xffff;
  cpu.push16(cpu.pc);
  cpu.pc = low | (cpu.bus.read(cpu.pc) << 8);
}
