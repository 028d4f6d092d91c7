import { describe, expect, it } from "vitest";
import { crc16 } from "../bytes/index.ts";
import { type Small, smallMachine } from "./small-bench.ts";

const SECTOR = 128;
const image = Uint8Array.from({ length: 77 * 26 * SECTOR }, (_, at) => (at / SECTOR + at) & 0xff);

const bench = (drive: string, registers: string): Small => ({
  cpu: "6809",
  computer: [`controller: { at: $D010, registers: ${registers} }`],
  rest: [
    "buses: { cable: { kind: 50-wire drive bus } }",
    `drives: { A: { class: eight-inch-one-side, bus: cable${drive} } }`,
    "images: { system: { file: disk, recording: ecma-54, drive: A } }",
  ],
});

const PLACES = "{ command: 0, track: 1, sector: 2, data: 3 }";

/** Reads a sector to $4000, and keeps the status at $4100. */
const read = (track: number, sector: number) => `  lda #${track}
  sta $D011
  lda #${sector}
  sta $D012
  lda #1
  sta $D010
wait lda $D010
  bmi wait
  sta $4100
  ldx #$4000
  ldb #${SECTOR}
next lda $D013
  sta ,x+
  decb
  bne next
done bra done
`;

const sector = (machine: ReturnType<typeof smallMachine>, at = 0x4000) =>
  Array.from({ length: SECTOR }, (_, index) => machine.peek(at + index));

describe("the disk controller", () => {
  it("reads a sector by track and number, in the time of load, steps, settling and half a turn or more", () => {
    const machine = smallMachine(bench("", PLACES), read(10, 5), image);
    machine.run({ seconds: 1 });
    const block = 10 * 26 + 4;
    expect(sector(machine)).toEqual([...image.subarray(block * SECTOR, (block + 1) * SECTOR)]);
    expect(machine.peek(0x4100)).toBe(0x40);
    expect(machine.state().drives).toMatchObject([{ track: 10, reads: 1, block }]);
  });

  it.each([
    [77, 1],
    [0, 27],
    [0, 0],
  ])("says that there is no track %i, sector %i", (track, number) => {
    const machine = smallMachine(bench("", PLACES), read(track, number), image);
    machine.run({ seconds: 1 });
    // Failed, for reason 2.
    expect(machine.peek(0x4100)).toBe(0x05);
  });

  it("says that an image ends too early, and that no drive has that address", () => {
    const short = smallMachine(bench("", PLACES), read(76, 1), image.subarray(0, 1000));
    short.run({ seconds: 2 });
    expect(short.peek(0x4100)).toBe(0x07);
    const other = smallMachine(
      bench(", address: 8", "{ command: 0, address: 1, high: 4, low: 2, data: 3 }"),
      read(9, 1),
      image,
    );
    other.run({ seconds: 1 });
    expect(other.peek(0x4100)).toBe(0x03);
  });

  it("writes a sector to its own copy of the disk, and reads it back", () => {
    const before = crc16(image);
    const machine = smallMachine(
      bench("", PLACES),
      `  lda #3
  sta $D011
  lda #7
  sta $D012
  ldb #${SECTOR}
fill stb $D013
  decb
  bne fill
  lda #2
  sta $D010
busy lda $D010
  bmi busy
${read(3, 7)}`,
      image,
    );
    machine.run({ seconds: 2 });
    expect(sector(machine)).toEqual(Array.from({ length: SECTOR }, (_, index) => SECTOR - index));
    expect(crc16(image)).toBe(before);
    expect(machine.state().drives[0]).toMatchObject({ reads: 1, writes: 1 });
  });

  it("goes to the place where the sector passes, at any start of the turn: the mean wait is half a turn", () => {
    const waits = Array.from({ length: 12 }, (_, index) => {
      // Loops of about 14 ms before the first command move it through the turn of 167 ms.
      const machine = smallMachine(
        bench(", headLoad: 0 ms", PLACES),
        `  ldx #${1 + index * 1736}
pause leax -1,x
  bne pause
${read(0, 1)}`,
        image,
      );
      const busy = () => machine.state().drives[0]!.busy;
      while (!busy()) machine.run({ cycles: 500 });
      const asked = machine.seconds;
      while (busy()) machine.run({ cycles: 500 });
      return machine.seconds - asked;
    });
    const turn = 1 / 6;
    expect(Math.max(...waits)).toBeLessThan(1.05 * turn);
    const mean = waits.reduce((sum, each) => sum + each, 0) / waits.length;
    expect(mean / turn).toBeGreaterThan(0.4);
    expect(mean / turn).toBeLessThan(0.65);
  });
});
