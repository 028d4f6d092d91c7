import { BugError } from "../errors/index.ts";

/** An instruction table spread out for the run: all three by prefix and opcode. Mode numbers follow the list given. */
export interface Rows {
  operation: readonly (string | undefined)[];
  mode: Uint8Array;
  cycles: Uint8Array;
}

/**
 * Reads lines `OPERATION mode opcode cycles …`. The opcode's last two digits are its place in a block of 256; what stands
 * before them is a key of `prefixes`, which says where that block begins.
 */
export function decode(text: string, modes: readonly string[], prefixes: Readonly<Record<string, number>>): Rows {
  const size = Math.max(...Object.values(prefixes)) + 256;
  const operation: (string | undefined)[] = Array(size).fill(undefined);
  const mode = new Uint8Array(size);
  const cycles = new Uint8Array(size);
  for (const line of text.trim().split("\n")) {
    const [name, ...fields] = line.trim().split(/\s+/);
    for (let i = 0; i < fields.length; i += 3) {
      const [how, opcode, takes] = fields.slice(i, i + 3) as [string, string, string];
      const at = prefixes[opcode.slice(0, -2)]! + Number.parseInt(opcode.slice(-2), 16);
      mode[at] = modes.indexOf(how);
      cycles[at] = Number(takes);
      if (!(at >= 0) || operation[at] !== undefined || !modes.includes(how) || Number.isNaN(Number(takes)))
        throw new BugError(`instruction table: ${line}`);
      operation[at] = name;
    }
  }
  return { operation, mode, cycles };
}
