/** What a CPU's reader gives: mnemonic and operand, and how many bytes they take. Undefined where there is none. */
export type Reader = (byte: (index: number) => number, address: number) => { text: string; length: number } | undefined;

const hex = (value: number, digits: number): string => `$${value.toString(16).toUpperCase().padStart(digits, "0")}`;

export const hexByte = (value: number): string => hex(value, 2);

export const hexWord = (value: number): string => hex(value & 0xffff, 4);

export const signed8 = (value: number): number => (value << 24) >> 24;
