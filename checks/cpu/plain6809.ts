// A second 6809, kept apart from the one in packages/core: written in the plainest form from the operation and condition code
// descriptions of the programming manual (M6809PM/AD) and the cycle table of the MC6809 data sheet. Bits of the condition
// codes are separate booleans, results are worked bit by bit where the manual gives a bit formula. Slow on purpose, and it
// shares nothing with the fast one. Both are ours: agreement shows that two readings of the manual agree.

const bit = (value: number, n: number): boolean => Math.floor(value / 2 ** n) % 2 === 1;
const wrap8 = (value: number): number => ((value % 256) + 256) % 256;
const wrap16 = (value: number): number => ((value % 65536) + 65536) % 65536;
const asSigned8 = (value: number): number => (value >= 128 ? value - 256 : value);
const asSigned16 = (value: number): number => (value >= 32768 ? value - 65536 : value);

type Word = "X" | "Y" | "U" | "S";

/** What the undefined cases do here as in the fast one: `undefined opcode or postbyte` is thrown and nothing is kept. */
export class Undefined6809 extends Error {}

export class Plain6809 {
  A = 0;
  B = 0;
  X = 0;
  Y = 0;
  U = 0;
  S = 0;
  PC = 0;
  DP = 0;
  E = false;
  F = false;
  H = false;
  I = false;
  N = false;
  Z = false;
  V = false;
  C = false;
  /** Cycles of the instruction under way. */
  cycles = 0;
  waiting: "no" | "SYNC" | "CWAI" = "no";
  readonly memory: Uint8Array;

  constructor(memory: Uint8Array) {
    this.memory = memory;
  }

  get D(): number {
    return this.A * 256 + this.B;
  }

  set D(value: number) {
    this.A = Math.floor(value / 256);
    this.B = value % 256;
  }

  get CC(): number {
    const bits = [this.E, this.F, this.H, this.I, this.N, this.Z, this.V, this.C];
    return bits.reduce((sum, set) => sum * 2 + (set ? 1 : 0), 0);
  }

  set CC(value: number) {
    this.E = bit(value, 7);
    this.F = bit(value, 6);
    this.H = bit(value, 5);
    this.I = bit(value, 4);
    this.N = bit(value, 3);
    this.Z = bit(value, 2);
    this.V = bit(value, 1);
    this.C = bit(value, 0);
  }

  /** Runs one instruction; returns its cycles. */
  step(): number {
    this.cycles = 0;
    const first = this.nextByte();
    if (first === 0x10) this.secondPage(this.nextByte());
    else if (first === 0x11) this.thirdPage(this.nextByte());
    else this.firstPage(first);
    return this.cycles;
  }

  byteAt(address: number): number {
    return this.memory[wrap16(address)]!;
  }

  wordAt(address: number): number {
    return this.byteAt(address) * 256 + this.byteAt(address + 1);
  }

  setByte(address: number, value: number): void {
    this.memory[wrap16(address)] = value;
  }

  setWord(address: number, value: number): void {
    this.setByte(address, Math.floor(value / 256));
    this.setByte(address + 1, value % 256);
  }

  nextByte(): number {
    const byte = this.byteAt(this.PC);
    this.PC = wrap16(this.PC + 1);
    return byte;
  }

  nextWord(): number {
    const high = this.nextByte();
    return high * 256 + this.nextByte();
  }

  // Addressing. `columns` of the opcode map: 0 direct, 1 indexed, 2 extended, with the cycles of each.

  direct(cycles: number): number {
    this.cycles += cycles;
    return this.DP * 256 + this.nextByte();
  }

  extended(cycles: number): number {
    this.cycles += cycles;
    return this.nextWord();
  }

  /** Data sheet, table 2, one line after the other. */
  indexed(cycles: number): number {
    this.cycles += cycles;
    const postbyte = this.nextByte();
    const register = (["X", "Y", "U", "S"] as const)[Math.floor(postbyte / 32) % 4] as Word;
    if (!bit(postbyte, 7)) {
      const offset = postbyte % 32;
      this.cycles += 1;
      return wrap16(this[register] + (offset >= 16 ? offset - 32 : offset));
    }
    const indirect = bit(postbyte, 4);
    const before = this[register];
    let address: number;
    let extra: number;
    let onlyDirect = false;
    switch (postbyte % 16) {
      case 0: // ,R+
        address = before;
        this[register] = wrap16(before + 1);
        extra = 2;
        onlyDirect = true;
        break;
      case 1: // ,R++
        address = before;
        this[register] = wrap16(before + 2);
        extra = 3;
        break;
      case 2: // ,-R
        this[register] = wrap16(before - 1);
        address = this[register];
        extra = 2;
        onlyDirect = true;
        break;
      case 3: // ,--R
        this[register] = wrap16(before - 2);
        address = this[register];
        extra = 3;
        break;
      case 4: // ,R
        address = before;
        extra = 0;
        break;
      case 5: // B,R
        address = before + asSigned8(this.B);
        extra = 1;
        break;
      case 6: // A,R
        address = before + asSigned8(this.A);
        extra = 1;
        break;
      case 8: // n,R with eight bits
        address = before + asSigned8(this.nextByte());
        extra = 1;
        break;
      case 9: // n,R with sixteen bits
        address = before + asSigned16(this.nextWord());
        extra = 4;
        break;
      case 11: // D,R
        address = before + asSigned16(this.D);
        extra = 4;
        break;
      case 12: {
        // n,PCR with eight bits
        const offset = asSigned8(this.nextByte());
        address = this.PC + offset;
        extra = 1;
        break;
      }
      case 13: {
        // n,PCR with sixteen bits
        const offset = asSigned16(this.nextWord());
        address = this.PC + offset;
        extra = 5;
        break;
      }
      case 15: // [n]
        if (!indirect) throw new Undefined6809();
        address = this.nextWord();
        extra = 2;
        break;
      default:
        throw new Undefined6809();
    }
    if (indirect && onlyDirect) throw new Undefined6809();
    this.cycles += extra + (indirect ? 3 : 0);
    return indirect ? this.wordAt(address) : wrap16(address);
  }

  /** Operand address for the four columns 8 9 A B (or C D E F): immediate, direct, indexed, extended. */
  operand(column: number, bytes: 1 | 2, cycles: readonly [number, number, number, number]): number {
    if (column === 0) {
      const address = this.PC;
      this.PC = wrap16(this.PC + bytes);
      this.cycles += cycles[0];
      return address;
    }
    if (column === 1) return this.direct(cycles[1]);
    if (column === 2) return this.indexed(cycles[2]);
    return this.extended(cycles[3]);
  }

  // Flags of results.

  zn8(result: number): void {
    this.N = bit(result, 7);
    this.Z = result === 0;
  }

  zn16(result: number): void {
    this.N = bit(result, 15);
    this.Z = result === 0;
  }

  /** "Set if there was a carry from bit 3", V "set if an 8-bit two's complement overflow occurred". */
  add(register: number, operand: number, carry: number): number {
    this.H = (register % 16) + (operand % 16) + carry > 15;
    const signed = asSigned8(register) + asSigned8(operand) + carry;
    this.V = signed > 127 || signed < -128;
    this.C = register + operand + carry > 255;
    const result = wrap8(register + operand + carry);
    this.zn8(result);
    return result;
  }

  subtract(register: number, operand: number, borrow: number): number {
    const signed = asSigned8(register) - asSigned8(operand) - borrow;
    this.V = signed > 127 || signed < -128;
    this.C = register < operand + borrow;
    const result = wrap8(register - operand - borrow);
    this.zn8(result);
    return result;
  }

  subtract16(register: number, operand: number): number {
    const signed = asSigned16(register) - asSigned16(operand);
    this.V = signed > 32767 || signed < -32768;
    this.C = register < operand;
    const result = wrap16(register - operand);
    this.zn16(result);
    return result;
  }

  add16(register: number, operand: number): number {
    const signed = asSigned16(register) + asSigned16(operand);
    this.V = signed > 32767 || signed < -32768;
    this.C = register + operand > 65535;
    const result = wrap16(register + operand);
    this.zn16(result);
    return result;
  }

  logical(result: number): number {
    this.zn8(result);
    this.V = false;
    return result;
  }

  logical16(result: number): number {
    this.zn16(result);
    this.V = false;
    return result;
  }

  /** The rows 0 to F of the columns 0, 4, 5, 6 and 7, but JMP. `undefined`: nothing is written back. */
  unary(row: number, value: number): number | undefined {
    switch (row) {
      case 0x0: {
        // NEG: V "set if the original operand was 10000000", C "set if a borrow was generated"
        const result = wrap8(-value);
        this.zn8(result);
        this.V = value === 128;
        this.C = value !== 0;
        return result;
      }
      case 0x3: {
        // COM
        const result = 255 - value;
        this.logical(result);
        this.C = true;
        return result;
      }
      case 0x4: {
        // LSR: N cleared, V not affected
        const result = Math.floor(value / 2);
        this.zn8(result);
        this.C = bit(value, 0);
        return result;
      }
      case 0x6: {
        // ROR
        const result = Math.floor(value / 2) + (this.C ? 128 : 0);
        this.zn8(result);
        this.C = bit(value, 0);
        return result;
      }
      case 0x7: {
        // ASR: bit 7 is held constant
        const result = Math.floor(value / 2) + (bit(value, 7) ? 128 : 0);
        this.zn8(result);
        this.C = bit(value, 0);
        return result;
      }
      case 0x8: // ASL
      case 0x9: {
        // ROL
        const result = wrap8(value * 2) + (row === 9 && this.C ? 1 : 0);
        this.zn8(result);
        this.V = bit(value, 7) !== bit(value, 6);
        this.C = bit(value, 7);
        return result;
      }
      case 0xa: {
        // DEC: V "set if the original operand was 10000000"
        const result = wrap8(value - 1);
        this.zn8(result);
        this.V = value === 128;
        return result;
      }
      case 0xc: {
        // INC: V "set if the original operand was 01111111"
        const result = wrap8(value + 1);
        this.zn8(result);
        this.V = value === 127;
        return result;
      }
      case 0xd: // TST
        this.logical(value);
        return undefined;
      case 0xf: // CLR
        this.N = false;
        this.Z = true;
        this.V = false;
        this.C = false;
        return 0;
      default:
        throw new Undefined6809();
    }
  }

  condition(row: number): boolean {
    const { N, Z, V, C } = this;
    const pairs = [true, !(C || Z), !C, !Z, !V, !N, N === V, !Z && N === V];
    const met = pairs[Math.floor(row / 2)]!;
    return row % 2 === 0 ? met : !met;
  }

  /** The arithmetic block 80 to BF, C0 to FF: rows 0 to B but those of 16 bits. */
  accumulator(register: "A" | "B", row: number, column: number): void {
    const address = this.operand(column, 1, [2, 4, 4, 5]);
    if (row === 7) {
      if (column === 0) throw new Undefined6809();
      this.logical(this[register]);
      this.setByte(address, this[register]);
      return;
    }
    const held = this[register];
    const value = this.byteAt(address);
    const carry = this.C ? 1 : 0;
    if (row === 0x0) this[register] = this.subtract(held, value, 0);
    else if (row === 0x1) this.subtract(held, value, 0);
    else if (row === 0x2) this[register] = this.subtract(held, value, carry);
    else if (row === 0x4) this[register] = this.logical(held & value);
    else if (row === 0x5) this.logical(held & value);
    else if (row === 0x6) this[register] = this.logical(value);
    else if (row === 0x8) this[register] = this.logical(held ^ value);
    else if (row === 0x9) this[register] = this.add(held, value, carry);
    else if (row === 0xa) this[register] = this.logical(held | value);
    else if (row === 0xb) this[register] = this.add(held, value, 0);
    else throw new Undefined6809();
  }

  load(register: Word | "D", column: number, cycles: readonly [number, number, number, number]): void {
    this[register] = this.logical16(this.wordAt(this.operand(column, 2, cycles)));
  }

  store(register: Word | "D", column: number, cycles: readonly [number, number, number, number]): void {
    if (column === 0) throw new Undefined6809();
    const address = this.operand(column, 2, cycles);
    this.logical16(this[register]);
    this.setWord(address, this[register]);
  }

  compare(register: Word | "D", column: number, cycles: readonly [number, number, number, number]): void {
    const address = this.operand(column, 2, cycles);
    this.subtract16(this[register], this.wordAt(address));
  }

  firstPage(opcode: number): void {
    const column = Math.floor(opcode / 16);
    const row = opcode % 16;
    if (column === 0 || column === 6 || column === 7) this.memoryColumn(column, row);
    else if (column === 1) this.columnOne(row);
    else if (column === 2) {
      const offset = asSigned8(this.nextByte());
      this.cycles = 3;
      if (this.condition(row)) this.PC = wrap16(this.PC + offset);
    } else if (column === 3) this.columnThree(row);
    else if (column === 4 || column === 5) {
      if (row === 0xe) throw new Undefined6809();
      const register = column === 4 ? "A" : "B";
      this.cycles = 2;
      this[register] = this.unary(row, this[register]) ?? this[register];
    } else if (column < 0xc) this.lowerBlock(column - 8, row);
    else this.upperBlock(column - 0xc, row);
  }

  memoryColumn(column: number, row: number): void {
    const jump = row === 0xe;
    let address: number;
    if (column === 0) address = this.direct(jump ? 3 : 6);
    else if (column === 6) address = this.indexed(jump ? 3 : 6);
    else address = this.extended(jump ? 4 : 7);
    if (jump) {
      this.PC = address;
      return;
    }
    const result = this.unary(row, this.byteAt(address));
    if (result !== undefined) this.setByte(address, result);
  }

  lowerBlock(column: number, row: number): void {
    if (row === 0x3) this.D = this.subtract16(this.D, this.wordAt(this.operand(column, 2, [4, 6, 6, 7])));
    else if (row === 0xc) this.compare("X", column, [4, 6, 6, 7]);
    else if (row === 0xd && column === 0) {
      const offset = asSigned8(this.nextByte());
      this.cycles = 7;
      this.callTo(wrap16(this.PC + offset));
    } else if (row === 0xd) this.callTo(this.operand(column, 1, [0, 7, 7, 8]));
    else if (row === 0xe) this.load("X", column, [3, 5, 5, 6]);
    else if (row === 0xf) this.store("X", column, [0, 5, 5, 6]);
    else this.accumulator("A", row, column);
  }

  upperBlock(column: number, row: number): void {
    if (row === 0x3) this.D = this.add16(this.D, this.wordAt(this.operand(column, 2, [4, 6, 6, 7])));
    else if (row === 0xc) this.load("D", column, [3, 5, 5, 6]);
    else if (row === 0xd) this.store("D", column, [0, 5, 5, 6]);
    else if (row === 0xe) this.load("U", column, [3, 5, 5, 6]);
    else if (row === 0xf) this.store("U", column, [0, 5, 5, 6]);
    else this.accumulator("B", row, column);
  }

  columnOne(row: number): void {
    switch (row) {
      case 0x2: // NOP
        this.cycles = 2;
        return;
      case 0x3: // SYNC
        this.cycles = 4;
        this.waiting = "SYNC";
        return;
      case 0x6: {
        // LBRA
        const offset = this.nextWord();
        this.cycles = 5;
        this.PC = wrap16(this.PC + offset);
        return;
      }
      case 0x7: {
        // LBSR
        const offset = this.nextWord();
        this.cycles = 9;
        this.callTo(wrap16(this.PC + offset));
        return;
      }
      case 0x9:
        this.cycles = 2;
        this.decimalAdjust();
        return;
      case 0xa: {
        // ORCC
        this.cycles = 3;
        this.CC = this.CC | this.nextByte();
        return;
      }
      case 0xc: {
        // ANDCC
        this.cycles = 3;
        this.CC = this.CC & this.nextByte();
        return;
      }
      case 0xd: // SEX
        this.cycles = 2;
        this.A = bit(this.B, 7) ? 255 : 0;
        this.zn16(this.D);
        return;
      case 0xe: {
        // EXG
        this.cycles = 8;
        const postbyte = this.nextByte();
        const first = this.coded(Math.floor(postbyte / 16));
        const second = this.coded(postbyte % 16);
        this.setCoded(Math.floor(postbyte / 16), second);
        this.setCoded(postbyte % 16, first);
        return;
      }
      case 0xf: {
        // TFR
        this.cycles = 6;
        const postbyte = this.nextByte();
        this.setCoded(postbyte % 16, this.coded(Math.floor(postbyte / 16)));
        return;
      }
      default:
        throw new Undefined6809();
    }
  }

  /** Programming manual, DAA: correction factors CF(LSN) and CF(MSN). */
  decimalAdjust(): void {
    const lsn = this.A % 16;
    const msn = Math.floor(this.A / 16);
    const low = this.H || lsn > 9 ? 6 : 0;
    const high = this.C || msn > 9 || (msn > 8 && lsn > 9) ? 6 : 0;
    const sum = this.A + high * 16 + low;
    this.C = this.C || sum > 255;
    this.A = wrap8(sum);
    this.zn8(this.A);
    this.V = false;
  }

  static readonly CODED = ["D", "X", "Y", "U", "S", "PC", "", "", "A", "B", "CC", "DP", "", "", "", ""] as const;

  /** As 16 bits; a byte register's upper byte and a code without a register read ones (our choice, as in the fast one). */
  coded(code: number): number {
    const name = Plain6809.CODED[code]!;
    if (name === "") return 65535;
    return code >= 8 ? 255 * 256 + this[name] : this[name];
  }

  setCoded(code: number, value: number): void {
    const name = Plain6809.CODED[code]!;
    if (name === "") return;
    this[name] = code >= 8 ? value % 256 : value;
  }

  callTo(address: number): void {
    this.pushByte("S", this.PC % 256);
    this.pushByte("S", Math.floor(this.PC / 256));
    this.PC = address;
  }

  pushByte(stack: "S" | "U", value: number): void {
    this[stack] = wrap16(this[stack] - 1);
    this.setByte(this[stack], value);
  }

  pushWord(stack: "S" | "U", value: number): void {
    this.pushByte(stack, value % 256);
    this.pushByte(stack, Math.floor(value / 256));
  }

  pullByte(stack: "S" | "U"): number {
    const value = this.byteAt(this[stack]);
    this[stack] = wrap16(this[stack] + 1);
    return value;
  }

  pullWord(stack: "S" | "U"): number {
    const high = this.pullByte(stack);
    return high * 256 + this.pullByte(stack);
  }

  pushList(stack: "S" | "U", list: number): void {
    if (bit(list, 7)) this.pushWord(stack, this.PC);
    if (bit(list, 6)) this.pushWord(stack, stack === "S" ? this.U : this.S);
    if (bit(list, 5)) this.pushWord(stack, this.Y);
    if (bit(list, 4)) this.pushWord(stack, this.X);
    if (bit(list, 3)) this.pushByte(stack, this.DP);
    if (bit(list, 2)) this.pushByte(stack, this.B);
    if (bit(list, 1)) this.pushByte(stack, this.A);
    if (bit(list, 0)) this.pushByte(stack, this.CC);
  }

  pullList(stack: "S" | "U", list: number): void {
    if (bit(list, 0)) this.CC = this.pullByte(stack);
    if (bit(list, 1)) this.A = this.pullByte(stack);
    if (bit(list, 2)) this.B = this.pullByte(stack);
    if (bit(list, 3)) this.DP = this.pullByte(stack);
    if (bit(list, 4)) this.X = this.pullWord(stack);
    if (bit(list, 5)) this.Y = this.pullWord(stack);
    if (bit(list, 6)) {
      const value = this.pullWord(stack);
      if (stack === "S") this.U = value;
      else this.S = value;
    }
    if (bit(list, 7)) this.PC = this.pullWord(stack);
  }

  /** "Five plus one cycle a byte." */
  listed(): number {
    const list = this.nextByte();
    this.cycles = 5;
    for (let n = 0; n < 8; n++) if (bit(list, n)) this.cycles += n >= 4 ? 2 : 1;
    return list;
  }

  columnThree(row: number): void {
    switch (row) {
      case 0x0: // LEAX
        this.X = this.indexed(4);
        this.Z = this.X === 0;
        return;
      case 0x1: // LEAY
        this.Y = this.indexed(4);
        this.Z = this.Y === 0;
        return;
      case 0x2:
        this.S = this.indexed(4);
        return;
      case 0x3:
        this.U = this.indexed(4);
        return;
      case 0x4:
        this.pushList("S", this.listed());
        return;
      case 0x5:
        this.pullList("S", this.listed());
        return;
      case 0x6:
        this.pushList("U", this.listed());
        return;
      case 0x7:
        this.pullList("U", this.listed());
        return;
      case 0x9: // RTS
        this.cycles = 5;
        this.PC = this.pullWord("S");
        return;
      case 0xa: // ABX
        this.cycles = 3;
        this.X = wrap16(this.X + this.B);
        return;
      case 0xb: // RTI
        this.CC = this.pullByte("S");
        this.cycles = this.E ? 15 : 6;
        if (this.E) this.pullList("S", 0x7e);
        this.PC = this.pullWord("S");
        return;
      case 0xc: // CWAI: up to the wait; three of its 20 cycles fetch the vector
        this.CC = this.CC & this.nextByte();
        this.E = true;
        this.pushList("S", 0xff);
        this.cycles = 17;
        this.waiting = "CWAI";
        return;
      case 0xd: {
        // MUL: C "set if ACCB bit 7 of result is set"
        this.cycles = 11;
        this.D = this.A * this.B;
        this.Z = this.D === 0;
        this.C = bit(this.B, 7);
        return;
      }
      case 0xf:
        this.softwareInterrupt(19, 0xfffa);
        this.I = true;
        this.F = true;
        return;
      default:
        throw new Undefined6809();
    }
  }

  softwareInterrupt(cycles: number, vector: number): void {
    this.cycles = cycles;
    this.E = true;
    this.pushList("S", 0xff);
    this.PC = this.wordAt(vector);
  }

  secondPage(opcode: number): void {
    const row = opcode % 16;
    if (opcode > 0x20 && opcode < 0x30) {
      const offset = this.nextWord();
      const taken = this.condition(row);
      this.cycles = taken ? 6 : 5;
      if (taken) this.PC = wrap16(this.PC + offset);
    } else if (opcode === 0x3f) this.softwareInterrupt(20, 0xfff4);
    else if (opcode >= 0x80 && opcode < 0xc0) {
      const column = Math.floor(opcode / 16) - 8;
      if (row === 0x3) this.compare("D", column, [5, 7, 7, 8]);
      else if (row === 0xc) this.compare("Y", column, [5, 7, 7, 8]);
      else if (row === 0xe) this.load("Y", column, [4, 6, 6, 7]);
      else if (row === 0xf) this.store("Y", column, [0, 6, 6, 7]);
      else throw new Undefined6809();
    } else if (opcode >= 0xc0) {
      const column = Math.floor(opcode / 16) - 0xc;
      if (row === 0xe) this.load("S", column, [4, 6, 6, 7]);
      else if (row === 0xf) this.store("S", column, [0, 6, 6, 7]);
      else throw new Undefined6809();
    } else throw new Undefined6809();
  }

  thirdPage(opcode: number): void {
    const column = Math.floor(opcode / 16) - 8;
    if (opcode === 0x3f) this.softwareInterrupt(20, 0xfff2);
    else if (column >= 0 && column < 4 && opcode % 16 === 0x3) this.compare("U", column, [5, 7, 7, 8]);
    else if (column >= 0 && column < 4 && opcode % 16 === 0xc) this.compare("S", column, [5, 7, 7, 8]);
    else throw new Undefined6809();
  }
}
