import { C, N, V, Z } from "./flags.ts";

/** Branch conditions by the low four bits of the opcode, from the manual. */
const TABLE: readonly (readonly [name: string, taken: (n: boolean, z: boolean, v: boolean, c: boolean) => boolean])[] =
  [
    ["RA", () => true],
    ["RN", () => false],
    ["HI", (_n, z, _v, c) => !(c || z)],
    ["LS", (_n, z, _v, c) => c || z],
    ["CC", (_n, _z, _v, c) => !c],
    ["CS", (_n, _z, _v, c) => c],
    ["NE", (_n, z) => !z],
    ["EQ", (_n, z) => z],
    ["VC", (_n, _z, v) => !v],
    ["VS", (_n, _z, v) => v],
    ["PL", (n) => !n],
    ["MI", (n) => n],
    ["GE", (n, _z, v) => n === v],
    ["LT", (n, _z, v) => n !== v],
    ["GT", (n, z, v) => !z && n === v],
    ["LE", (n, z, v) => z || n !== v],
  ];

export const CONDITIONS: readonly string[] = TABLE.map(([name]) => name);

/** By condition: which of the 16 settings of NZVC take the branch, a bit each. */
export const TAKEN = Uint16Array.from(TABLE, ([, isTaken]) => {
  let taken = 0;
  for (let nzvc = 0; nzvc < 16; nzvc++)
    if (isTaken((nzvc & N) !== 0, (nzvc & Z) !== 0, (nzvc & V) !== 0, (nzvc & C) !== 0)) taken |= 1 << nzvc;
  return taken;
});
