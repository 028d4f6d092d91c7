import { spawnSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { assemble } from "@rouse/core/assemble";
import { toIntelHex } from "@rouse/core/bytes";
import { type Cpu, Cpu6502, Cpu6809, CpuZ80, PagedBus } from "@rouse/core/cpu";
import type { Measured } from "./types.ts";

/**
 * Emulated cycles a second of user time, for programs that fill, mix, move and sort bytes. Ours run on the paged bus with a device
 * and a ROM mapped; the references run the same 6502 and Z80 programs to their end in the same run, interleaved with ours.
 */

const RUNS = 7;
/** Length of one call of `run`: as between two events of a machine. */
const SLICE = 20_000;

/**
 * Each fills 256 bytes, copies them through a subroutine that mixes them, and goes over half of them as a sort does. The Z80's
 * moves a block and sums some bytes by an index register, too.
 */
const PROGRAMS = {
  "6502": (turns: number) => `
        cpu 6502
        org $1000
start   ldx #$ff
        txs
        lda #<${turns}
        sta $20
        lda #>${turns}
        sta $21
again   ldy #0
fill    tya
        eor $20
        sta $3000,y
        iny
        bne fill
        lda #0
        sta $10
        sta $12
        lda #$30
        sta $11
        lda #$40
        sta $13
copy    lda ($10),y
        jsr mix
        sta ($12),y
        iny
        bne copy
        ldx #0
bubble  lda $3000,x
        cmp $3001,x
        bcc ordered
        pha
        lda $3001,x
        sta $3000,x
        pla
        sta $3001,x
ordered inx
        bpl bubble
        dec $20
        bne again
        dec $21
        bne again
        lda #0
        jsr $fff9
mix     clc
        adc $22
        rol a
        sta $22
        inc $23
        rts
`,
  Z80: (turns: number) => `
        cpu z80
        org $0
start   ld sp,$f800
        ld hl,${turns}
        ld ($2000),hl
again   ld hl,$3000
        ld b,0
fill    ld a,($2000)
        xor l
        ld (hl),a
        inc l
        djnz fill
        ld de,$4000
copy    ld a,(hl)
        call mix
        ld (de),a
        inc de
        inc l
        jr nz,copy
        ld hl,$3000
        ld b,$80
bubble  ld a,(hl)
        inc hl
        cp (hl)
        jr c,ordered
        ld c,(hl)
        ld (hl),a
        dec hl
        ld (hl),c
        inc hl
ordered djnz bubble
        ld hl,$4000
        ld de,$4100
        ld bc,$40
        ldir
        ld ix,$4000
        ld b,$20
sum     ld e,(ix+1)
        ld d,0
        add hl,de
        inc ix
        djnz sum
        ld hl,($2000)
        dec hl
        ld ($2000),hl
        ld a,h
        or l
        jp nz,again
        halt
mix     add a,c
        rlca
        ld c,a
        push bc
        pop bc
        ret
`,
  "6809": (turns: number) => `
        cpu 6809
        org $1000
start   lds #$f800
        ldd #${turns}
        std $2000
again   ldx #$3000
        ldb #0
fill    tfr b,a
        eora $2001
        sta ,x+
        incb
        bne fill
        ldx #$3000
        ldy #$4000
copy    lda ,x+
        bsr mix
        sta ,y+
        cmpx #$3100
        bne copy
        ldx #$3000
        ldb #$80
bubble  lda ,x
        cmpa 1,x
        blo ordered
        pshs a
        lda 1,x
        sta ,x
        puls a
        sta 1,x
ordered leax 1,x
        decb
        bne bubble
        ldd $2000
        subd #1
        std $2000
        bne again
        sync
mix     adda $2002
        rola
        sta $2002
        inc $2003
        rts
`,
};

type Name = keyof typeof PROGRAMS;

/** Turns of each program: about half a second in ours, a second or two in the references. */
const TURNS: Readonly<Record<Name, number>> = { "6502": 6000, Z80: 4000, "6809": 4000 };

interface Rate {
  cycles: number;
  seconds: number;
}

/** The least disturbed run counts: what else the machine does slows some runs by half, and never speeds one up. */
const perSecond = (rates: readonly Rate[]): number => Math.max(...rates.map(({ cycles, seconds }) => cycles / seconds));

function program(name: Name): { start: number; image: Uint8Array } {
  const { segments, symbols, errors } = assemble(PROGRAMS[name](TURNS[name]));
  if (errors[0]) throw new Error(`${name}: ${errors[0].sentence}\n${errors[0].caret}`);
  const { address, bytes } = segments[0]!;
  const image = new Uint8Array(address + bytes.length);
  image.set(bytes, address);
  return { start: symbols.get("start")!, image };
}

/** RAM below E000, a device in the middle of a page at E000, ROM above. */
function machine(name: Name): Cpu {
  const { start, image } = program(name);
  const memory = new Uint8Array(0x10000);
  memory.set(image);
  // Where the 6502's program calls sim65's exit it jams ours.
  memory[0xfff9] = 0x02;
  const bus = new PagedBus(memory);
  bus.mapMemory(0, 0xffff, 0);
  bus.mapDevice(0xe000, 0xe00f, { read: () => 0, write: () => {} });
  bus.mapMemory(0xf900, 0xffff, 0xf900, { access: "read" });
  const cpu = name === "6502" ? new Cpu6502(bus) : name === "Z80" ? new CpuZ80(bus) : new Cpu6809(bus);
  cpu.set("PC", start);
  return cpu;
}

function ours(name: Name): Rate {
  const cpu = machine(name);
  const before = process.cpuUsage();
  while (cpu.condition === "runs") cpu.run(cpu.bus.clock + SLICE);
  return { cycles: cpu.bus.clock, seconds: process.cpuUsage(before).user / 1e6 };
}

/** Runs a command to its end; gives its output and its user time as the shell counts it. */
function timed(command: string): { output: string; seconds: number } {
  const { status, stdout, stderr } = spawnSync("sh", ["-c", `${command}; times`], {
    encoding: "latin1",
    maxBuffer: 1 << 26,
  });
  const [, minutes, seconds] = /(\d+)m([\d.]+)s \S+\s*$/.exec(stdout) ?? [];
  if (status !== 0 || minutes === undefined) throw new Error(`${command} failed: ${stdout}${stderr}`);
  return { output: stdout, seconds: Number(minutes) * 60 + Number(seconds) };
}

function sim65(folder: string): Rate {
  const { start, image } = program("6502");
  const header = [...Buffer.from("sim65"), 2, 0, 0, 0, 0, start & 0xff, start >> 8];
  const file = join(folder, "6502");
  writeFileSync(file, Buffer.concat([Uint8Array.from(header), image]));
  const { output, seconds } = timed(`sim65 -c ${file}`);
  return { cycles: Number(/(\d+) cycles/.exec(output)![1]), seconds };
}

/** `cycles`: what ours took, since sz80 counts some instructions otherwise than the manual. */
function sz80(folder: string, cycles: number): Rate {
  const file = join(folder, "z80.ihx");
  writeFileSync(file, toIntelHex({ segments: [{ address: 0, bytes: program("Z80").image }] }));
  const commands = join(folder, "commands");
  writeFileSync(commands, "expression sp_limit=0\nrun\nquit\n");
  const { output, seconds } = timed(`sz80 -b -t Z80 ${file} < ${commands} 2>/dev/null`);
  if (!output.includes("Halted")) throw new Error(`sz80 did not reach the end: ${output.slice(-300)}`);
  return { cycles, seconds };
}

const atLeast = (name: string, value: number, aim: number, unit = "×"): Measured => ({
  name,
  value,
  unit,
  aim: `≥ ${aim}`,
  met: value >= aim,
});

export async function run(): Promise<readonly Measured[]> {
  const folder = mkdtempSync(join(tmpdir(), "rouse-speed-"));
  try {
    const rates: Record<Name | "sim65" | "sz80", Rate[]> = { "6502": [], Z80: [], "6809": [], sim65: [], sz80: [] };
    for (let turn = 0; turn < RUNS; turn++) {
      rates["6809"].push(ours("6809"));
      rates["6502"].push(ours("6502"));
      rates.sim65.push(sim65(folder));
      const z80 = ours("Z80");
      rates.Z80.push(z80);
      rates.sz80.push(sz80(folder, z80.cycles));
    }
    const [m6809, m6502, z80] = [perSecond(rates["6809"]), perSecond(rates["6502"]), perSecond(rates.Z80)];
    return [
      atLeast("6809, millions of cycles a second", m6809 / 1e6, 100, "M/s"),
      atLeast("6502, millions of cycles a second", m6502 / 1e6, 100, "M/s"),
      atLeast("Z80, millions of T states a second", z80 / 1e6, 100, "M/s"),
      atLeast("6502 over sim65 (cc65, C)", m6502 / perSecond(rates.sim65), 0.5),
      atLeast("Z80 over sz80 (sdcc-ucsim)", z80 / perSecond(rates.sz80), 10),
    ];
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
