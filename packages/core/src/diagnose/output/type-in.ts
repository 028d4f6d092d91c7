import { hex, type Segment } from "../../bytes/index.ts";

/** Forms of a program that a person types in. Each line ends with the sum of its bytes, so that a slip is found at its line. */

const HEX_A_LINE = 8;
const DATA_A_LINE = 8;
const FIRST_LINE = 1000;
const STEP = 10;

/** For a monitor: address, bytes, and behind a bar the low byte of their sum, which is not typed. */
export function hexToType(segments: readonly Segment[]): string {
  return segments
    .flatMap(({ address, bytes }) =>
      inLines(bytes, HEX_A_LINE).map((line, index) => {
        const sum = line.reduce((total, byte) => total + byte, 0) & 0xff;
        const shown = Array.from(line, (byte) => hex(byte, 2)).join(" ");
        return `${hex(address + index * HEX_A_LINE, 4)}  ${shown.padEnd(HEX_A_LINE * 3 - 1)}  | ${hex(sum, 2)}`;
      }),
    )
    .map((line) => `${line}\n`)
    .join("");
}

/**
 * Numbered DATA lines with a short program before them that puts their bytes into memory and checks each line's sum, its last number.
 * READ and DATA as in ECMA-55; POKE, which puts a byte, is common practice, no source. The last line is filled with zeros.
 */
export function dataToType(segments: readonly Segment[]): string {
  const lines: { address: number; bytes: Uint8Array }[] = segments.flatMap(({ address, bytes }) =>
    inLines(bytes, DATA_A_LINE).map((line, index) => ({ address: address + index * DATA_A_LINE, bytes: line })),
  );
  const apart = segments.length > 1;
  const program = [
    `10 REM ${lines.length} LINES OF ${DATA_A_LINE} BYTES AND THEIR SUM`,
    `20 LET A=${segments[0]?.address ?? 0}`,
    `30 FOR L=1 TO ${lines.length}`,
    "40 LET T=0",
    ...(apart ? ["50 READ A"] : []),
    `60 FOR I=1 TO ${DATA_A_LINE}`,
    "70 READ B",
    "80 POKE A,B",
    "90 LET A=A+1",
    "100 LET T=T+B",
    "110 NEXT I",
    "120 READ C",
    "130 IF C<>T THEN 170",
    "140 NEXT L",
    '150 PRINT "ALL IS THERE"',
    "160 STOP",
    `170 PRINT "WRONG IN LINE";${FIRST_LINE - STEP}+${STEP}*L`,
    "180 STOP",
  ];
  const data = lines.map(({ address, bytes }, index) => {
    const padded = [...bytes, ...Array<number>(DATA_A_LINE - bytes.length).fill(0)];
    const sum = padded.reduce((total, byte) => total + byte, 0);
    return `${FIRST_LINE + index * STEP} DATA ${[...(apart ? [address] : []), ...padded, sum].join(",")}`;
  });
  return [...program, ...data, `${FIRST_LINE + lines.length * STEP} END`, ""].join("\n");
}

function inLines(bytes: Uint8Array, length: number): Uint8Array[] {
  return Array.from({ length: Math.ceil(bytes.length / length) }, (_, index) =>
    bytes.subarray(index * length, (index + 1) * length),
  );
}
