import { describe, expect, it } from "vitest";
import { smallMachine } from "./small-bench.ts";

/** Each timer asks the CPU for interrupts, which count at 8000 (Z80) or 4000; the counts are worked out beside each test. */

const count = (machine: ReturnType<typeof smallMachine>, at: number): number =>
  (machine.peek(at)! << 8) | machine.peek(at + 1)!;

describe("a timer", () => {
  it("of the 6522 runs free, every n + 2 cycles", () => {
    const machine = smallMachine(
      { cpu: "6809", computer: ["timers: { clock: { part: 6522, at: $D020 } }"] },
      `  lds #$5000
  ldd #0
  std $4000
  ldd #$40C0
  sta $D02B
  stb $D02E
  ldd #$E627
  sta $D024
  stb $D025
  andcc #$EF
idle bra idle
irq ldd $4000
  addd #1
  std $4000
  lda $D024
  rti
  org $FFF8
  fdb irq
`,
    );
    // $27E6 + 2 = 10,216 cycles of 1 MHz: 97 times in a second, the first that much behind the start.
    machine.run({ seconds: 1 });
    expect(count(machine, 0x4000)).toBe(97);
  });

  it("at a 6821's CA1 pulses as the bench says, and is heard where it is let through", () => {
    const program = (control: number) => `  lds #$5000
  ldd #0
  std $4000
  lda #${control}
  sta $D031
  andcc #$EF
idle bra idle
irq ldd $4000
  addd #1
  std $4000
  lda $D030
  rti
  org $FFF8
  fdb irq
`;
    const small = {
      cpu: "6809",
      computer: ["timers: { mains: { part: MC6821, at: $D030, every: 20000 } }"],
    } as const;
    const machine = smallMachine(small, program(5));
    machine.run({ cycles: 1_010_000 });
    expect(count(machine, 0x4000)).toBe(50);
    const deaf = smallMachine(small, program(4));
    deaf.run({ seconds: 1 });
    expect(count(deaf, 0x4000)).toBe(0);
  });

  // Below 100 and in no stretch of devices it is a port, as serial parts are.
  it.each(["at: $40, port: true", "at: $40"])(
    "of the CTC (%s) interrupts by its vector, every 256 × time constant cycles",
    (at) => {
      const machine = smallMachine(
        { cpu: "Z80", computer: [`timers: { clock: { part: Z80-CTC, ${at} } }`] },
        `  jr begin
  org $20
  dw bad, tick
begin ld sp,$f000
  ld hl,0
  ld ($8000),hl
  ld a,0
  ld i,a
  im 2
  ld a,$20
  out ($40),a
  ld a,$a5
  out ($41),a
  ld a,100
  out ($41),a
  ei
idle halt
  jr idle
tick push af
  push hl
  ld hl,($8000)
  inc hl
  ld ($8000),hl
  pop hl
  pop af
  ei
  reti
bad jr bad
`,
      );
      // 25,600 cycles: 39 times in a second. The word is low byte first.
      machine.run({ seconds: 1 });
      expect(machine.peek(0x8000)).toBe(39);
    },
  );

  it("of divider and bit is cleared by a write, and wakes the CPU", () => {
    const machine = smallMachine(
      { cpu: "6809", computer: ["tick: { at: $D008, every: 10000, interrupts: true }"] },
      `  lds #$5000
  ldd #0
  std $4000
  andcc #$EF
idle sync
  bra idle
irq lda $D008
  bpl wrong
  sta $D008
  lda $D008
  bmi wrong
  ldd $4000
  addd #1
  std $4000
  rti
wrong bra wrong
  org $FFF8
  fdb irq
`,
    );
    machine.run({ cycles: 1_005_000 });
    expect(count(machine, 0x4000)).toBe(100);
  });

  it("that the bench lets drive an input that the CPU lacks is refused", () => {
    expect(() =>
      smallMachine({ cpu: "6502", computer: ["timers: { clock: { part: 6522, at: $D020, line: FIRQ } }"] }, "  nop"),
    ).toThrow("no interrupt input FIRQ");
  });
});
