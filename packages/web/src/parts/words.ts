/** "1 file", "3 files". */
export const counted = (count: number, one: string, many = `${one}s`): string =>
  `${count.toLocaleString("en-GB")} ${count === 1 ? one : many}`;

/** "176,640 bytes", with KiB beside it from 10 KiB up. */
export function bytesInWords(bytes: number): string {
  const exact = counted(bytes, "byte");
  return bytes >= 10_240 ? `${Math.round(bytes / 1024).toLocaleString("en-GB")} KiB (${exact})` : exact;
}

/** "a, b and c" */
export const listed = (words: readonly string[]): string =>
  words.length < 2 ? (words[0] ?? "") : `${words.slice(0, -1).join(", ")} and ${words.at(-1)}`;

export const upperFirst = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

export const hexOf = (value: number, digits = 4): string =>
  `$${value.toString(16).toUpperCase().padStart(digits, "0")}`;
