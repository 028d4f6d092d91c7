import { BugError } from "../../errors/index.ts";
import { add, addPair, and, cp, dec, inc, or, rotateA, sub, xor } from "./arithmetic.ts";
import type { CpuZ80 } from "./cpu.ts";
import { HR, IX, IY, LR } from "./flags.ts";
import { call, jump, MAKERS, type Operation } from "./operations.ts";
import { BASE, CB, ED, MODES, type Row } from "./table.ts";

/** What a displacement adds: after DD or FD, and after DD CB or FD CB, whose opcode is fetched meanwhile. */
const DISPLACEMENT_CYCLES = 8;
const DISPLACEMENT_CB_CYCLES = 4;

/** Operations in the switch of `run`, in the order of its cases; what they do stands there. */
const SWITCHED =
  "LD LDMR LDD LDANN LDNNA LDHLNN LDNNHL ADD ADC SUB SBC AND XOR OR CP INC DEC INCD DECD ADDHL RLCA RRCA RLA RRA JP JPC JR JRC DJNZ CALL CALLC RET RETC PUSH POP".split(
    " ",
  );

/** Further modes of the switch: the value of the second register, and what lies at the address of `mem`. */
const REGISTER = MODES.length;
const MEMORY = REGISTER + 1;
const MODE_BITS = 3;

/** Rows of the switch whose operand is a value: its case, and the mode that finds it. */
const VALUES: ReadonlyMap<string, readonly [name: string, mode: number]> = new Map([
  ...["ADD", "ADC", "SUB", "SBC", "AND", "XOR", "OR", "CP"].flatMap((name) => [
    [name, [name, REGISTER]] as const,
    [`${name}@`, [name, MEMORY]] as const,
    [`${name}N`, [name, MODES.indexOf("imm")]] as const,
  ]),
  ["LD", ["LD", REGISTER]],
  ["LDN", ["LD", MODES.indexOf("imm")]],
  ["LDRM", ["LD", MEMORY]],
]);

/** One table of opcodes spread out for the run, with HL, IX or IY in HL's place. */
interface Opcodes {
  /**
   * An opcode in one number: place in SWITCHED or the first number after it, mode, cycles, the two values of its letters. Registers
   * and pairs are places in `bytes`; SP and AF are 3, where no pair lies; a single letter `s` is the second value.
   */
  info: Int32Array;
  /** What is not in the switch, by opcode. */
  rest: readonly (Operation | undefined)[];
}

function opcodes(rows: readonly Row[], h: number): Opcodes {
  const rest: (Operation | undefined)[] = [];
  const info = Int32Array.from(rows, ({ operation, letters, values, mode, cycles }, opcode) => {
    const isMemory = MODES[mode] === "mem";
    // H and L become the index register's halves, except beside an operand that it points to.
    const [first = 0, second = 0] = values.map((value, i) =>
      /[rs]/.test(letters[i]!) && !isMemory && (value === HR || value === LR) ? h + value - HR : value,
    );
    const [name, how] = VALUES.get(operation) ?? [operation, mode];
    const place = SWITCHED.indexOf(name);
    if (place < 0 && MODES[mode] !== "pre") {
      const maker = MAKERS[operation];
      if (!maker) throw new BugError(`Z80: no operation ${operation}`);
      rest[opcode] = maker(h, first, second);
    }
    const isPair = letters[0] === "d" || letters[0] === "q";
    const one = !isPair || first === 3 ? first : first * 2 === HR ? h : first * 2;
    const two = letters.length === 1 && letters[0] === "s" ? first : second;
    return (place < 0 ? SWITCHED.length : place) | (how << 7) | (cycles << (7 + MODE_BITS)) | (one << 16) | (two << 20);
  });
  return { info, rest };
}

const base = opcodes(BASE, HR);
const withIx = opcodes(BASE, IX);
const withIy = opcodes(BASE, IY);
const cb = opcodes(CB, HR);
const ed = opcodes(ED, HR);

/** Where the flag of a condition NZ Z NC C PO PE P M lies in F. */
const FLAG_SHIFT = Uint8Array.of(6, 6, 0, 0, 2, 2, 7, 7);

const TAKEN_JR_CYCLES = 5;
const TAKEN_RET_CYCLES = 6;
const TAKEN_CALL_CYCLES = 7;

/**
 * Runs one instruction, then more while cycles are left. Modes are places in MODES (and the two above) and operations in SWITCHED, written
 * out, as are registers: a bundler turns a name into a variable that is looked up each time.
 */
export function run(cpu: CpuZ80): void {
  const { bus, bytes } = cpu;
  const { info } = base;
  const shifts = FLAG_SHIFT;
  do {
    const { pc } = cpu;
    let next = (pc + 1) & 0xffff;
    let word: number;
    const jammed = cpu.attention === 0 ? -1 : cpu.attend();
    if (jammed === -1) {
      word = bus.ahead(pc);
      if (word === -1) word = collect(cpu, base, pc, 4 /* HR */);
    } else if (jammed === -2 /* done */) continue;
    else {
      word = jammed;
      next = pc;
    }
    cpu.refresh(1);
    let table = base;
    let row = info[word & 0xff]!;
    let h = 4; /* HR */
    while (((row >> 7) & 7) === 5 /* pre */) {
      bus.left -= (row >> 10) & 0x3f;
      const prefix = word & 0xff;
      if (prefix === 0xcb && h !== 4) break;
      table = prefix === 0xdd ? withIx : prefix === 0xfd ? withIy : prefix === 0xcb ? cb : ed;
      h = prefix === 0xdd ? 8 /* IX */ : prefix === 0xfd ? 10 /* IY */ : 4; /* HR */
      cpu.refresh(1);
      word = bus.ahead(next);
      if (word === -1) word = collect(cpu, table, next, h);
      next = (next + 1) & 0xffff;
      row = table.info[word & 0xff]!;
    }
    bus.left -= (row >> 10) & 0x3f;
    let operand = 0;
    switch ((row >> 7) & 7) {
      case 0 /* none */:
        cpu.pc = next;
        break;
      case 1 /* imm */:
        cpu.pc = (next + 1) & 0xffff;
        operand = (word >> 8) & 0xff;
        break;
      case 2 /* nn */:
        cpu.pc = (next + 2) & 0xffff;
        operand = (word >> 8) & 0xffff;
        break;
      case 4 /* rel */:
        cpu.pc = (next + 1) & 0xffff;
        operand = (next + 1 + ((word << 16) >> 24)) & 0xffff;
        break;
      case 5 /* pre: DD CB, FD CB */:
        cpu.pc = next;
        indexedCb(cpu, h);
        continue;
      case 6 /* second register */:
        cpu.pc = next;
        operand = bytes[row >> 20]!;
        break;
      default: // mem, and what lies there
        if (h === 4 /* HR */) {
          cpu.pc = next;
          operand = (bytes[4]! << 8) | bytes[5]!;
        } else {
          cpu.pc = (next + 1) & 0xffff;
          operand = cpu.displaced(h, word >> 8);
          bus.left -= DISPLACEMENT_CYCLES;
        }
        if (row & 0x200 /* MEMORY, not mem */) operand = bus.read(operand);
    }
    const first = (row >> 16) & 0x0f;
    switch (row & 0x7f) {
      case 0 /* LD */:
        bytes[first] = operand;
        break;
      case 1 /* LDMR */:
        bus.write(operand, bytes[first]!);
        break;
      case 2 /* LDD */:
        if (first === 3) cpu.sp = operand;
        else setPair(bytes, first, operand);
        break;
      case 3 /* LDANN */:
        cpu.a = bus.read(operand);
        cpu.wz = (operand + 1) & 0xffff;
        break;
      case 4 /* LDNNA */:
        bus.write(operand, cpu.a);
        cpu.wz = ((operand + 1) & 0xff) | (cpu.a << 8);
        break;
      case 5 /* LDHLNN */:
        setPair(bytes, h, cpu.read16(operand));
        break;
      case 6 /* LDNNHL */:
        cpu.write16(operand, pair(bytes, h));
        break;
      case 7 /* ADD */:
        add(cpu, operand, 0);
        break;
      case 8 /* ADC */:
        add(cpu, operand, cpu.f & 1);
        break;
      case 9 /* SUB */:
        sub(cpu, operand, 0);
        break;
      case 10 /* SBC */:
        sub(cpu, operand, cpu.f & 1);
        break;
      case 11 /* AND */:
        and(cpu, operand);
        break;
      case 12 /* XOR */:
        xor(cpu, operand);
        break;
      case 13 /* OR */:
        or(cpu, operand);
        break;
      case 14 /* CP */:
        cp(cpu, operand);
        break;
      case 15 /* INC */:
        bytes[first] = inc(cpu, bytes[first]!);
        break;
      case 16 /* DEC */:
        bytes[first] = dec(cpu, bytes[first]!);
        break;
      case 17 /* INCD */:
        if (first === 3) cpu.sp = (cpu.sp + 1) & 0xffff;
        else setPair(bytes, first, (pair(bytes, first) + 1) & 0xffff);
        break;
      case 18 /* DECD */:
        if (first === 3) cpu.sp = (cpu.sp - 1) & 0xffff;
        else setPair(bytes, first, (pair(bytes, first) - 1) & 0xffff);
        break;
      case 19 /* ADDHL */:
        addPair(cpu, h, first === 3 ? cpu.sp : pair(bytes, first));
        break;
      case 20 /* RLCA */:
        rotateA(cpu, ((cpu.a << 1) | (cpu.a >> 7)) & 0xff, cpu.a >> 7);
        break;
      case 21 /* RRCA */:
        rotateA(cpu, ((cpu.a << 7) | (cpu.a >> 1)) & 0xff, cpu.a & 1);
        break;
      case 22 /* RLA */:
        rotateA(cpu, ((cpu.a << 1) | (cpu.f & 1)) & 0xff, cpu.a >> 7);
        break;
      case 23 /* RRA */:
        rotateA(cpu, ((cpu.f & 1) << 7) | (cpu.a >> 1), cpu.a & 1);
        break;
      case 24 /* JP */:
        jump(cpu, operand);
        break;
      case 25 /* JPC */:
        cpu.wz = operand;
        if ((((cpu.f >> shifts[first]!) ^ first) & 1) === 0) cpu.pc = operand;
        break;
      case 26 /* JR */:
        jump(cpu, operand);
        break;
      case 27 /* JRC */:
        if ((((cpu.f >> shifts[first]!) ^ first) & 1) === 0) {
          bus.left -= TAKEN_JR_CYCLES;
          jump(cpu, operand);
        }
        break;
      case 28 /* DJNZ */:
        bytes[0]!--;
        if (bytes[0] !== 0) {
          bus.left -= TAKEN_JR_CYCLES;
          jump(cpu, operand);
        }
        break;
      case 29 /* CALL */:
        call(cpu, operand);
        break;
      case 30 /* CALLC */:
        cpu.wz = operand;
        if ((((cpu.f >> shifts[first]!) ^ first) & 1) === 0) {
          bus.left -= TAKEN_CALL_CYCLES;
          call(cpu, operand);
        }
        break;
      case 31 /* RET */:
        jump(cpu, cpu.pop());
        break;
      case 32 /* RETC */:
        if ((((cpu.f >> shifts[first]!) ^ first) & 1) === 0) {
          bus.left -= TAKEN_RET_CYCLES;
          jump(cpu, cpu.pop());
        }
        break;
      case 33 /* PUSH */:
        cpu.push(first === 3 ? (cpu.a << 8) | cpu.f : pair(bytes, first));
        break;
      case 34 /* POP */:
        if (first === 3) cpu.popAf();
        else setPair(bytes, first, cpu.pop());
        break;
      default:
        table.rest[word & 0xff]!(cpu, operand);
    }
  } while (bus.left > 0);
}

/** The bytes of the instruction at an address, after a prefix if there was one, read one by one, the opcode lowest. */
function collect({ bus }: CpuZ80, { info }: Opcodes, at: number, h: number): number {
  let word = bus.read(at);
  const mode = (info[word]! >> 7) & 7;
  // Bytes after the opcode by mode; those of memory have one with an index register only.
  const more = mode === 2 ? 2 : mode === 1 || mode === 4 || ((mode === 3 || mode === 7) && h !== HR) ? 1 : 0;
  for (let i = 1; i <= more; i++) word |= bus.read((at + i) & 0xffff) << (8 * i);
  return word;
}

/** DD CB d op: on memory, whatever register the opcode names; that one takes a copy of the result (undocumented). */
function indexedCb(cpu: CpuZ80, h: number): void {
  const at = cpu.displaced(h, cpu.fetch());
  const opcode = cpu.fetch();
  const row = (opcode & 0xf8) | 6;
  cpu.bus.left -= ((cb.info[row]! >> 10) & 0x3f) + DISPLACEMENT_CB_CYCLES;
  cb.rest[row]!(cpu, at);
  const register = opcode & 7;
  const isBit = opcode >> 6 === 1;
  if (register !== 6 && !isBit) cpu.bytes[register] = cpu.stored;
}

const pair = (bytes: Uint8Array, place: number): number => (bytes[place]! << 8) | bytes[place + 1]!;

function setPair(bytes: Uint8Array, place: number, value: number): void {
  bytes[place] = value >> 8;
  bytes[place + 1] = value;
}
