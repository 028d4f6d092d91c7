/** How bytes become characters on the screen, and back. */
export type Code = "7 bits" | "8 bits" | "UTF-8";

export const CODES: readonly (readonly [Code, string])[] = [
  ["7 bits", "7 bits (ISO 646)"],
  ["8 bits", "8 bits (ISO 8859-1)"],
  ["UTF-8", "UTF-8 (RFC 3629)"],
];

const text = (bytes: Uint8Array, mask: number): string => {
  let out = "";
  for (let at = 0; at < bytes.length; at += 4096)
    out += String.fromCharCode(...bytes.subarray(at, at + 4096).map((byte) => byte & mask));
  return out;
};

/** Bytes of the line as the screen takes them. */
export function forScreen(bytes: Uint8Array, code: Code): string | Uint8Array {
  return code === "UTF-8" ? bytes : text(bytes, code === "7 bits" ? 0x7f : 0xff);
}

/**
 * Text of a person as bytes of the line, each as a character U+0000 to U+00FF; `lost` are the characters that the code
 * has no place for.
 */
export function forLine(words: string, code: Code): { bytes: string; lost: string } {
  if (code === "UTF-8") return { bytes: text(new TextEncoder().encode(words), 0xff), lost: "" };
  const most = code === "7 bits" ? 0x7f : 0xff;
  const all = [...words];
  const fits = (each: string): boolean => (each.codePointAt(0) ?? 0) <= most;
  return { bytes: all.filter(fits).join(""), lost: all.filter((each) => !fits(each)).join("") };
}

/** What a person's keys send where terminals of the period differ. */
export interface KeyHabits {
  /** Code of the key that takes a character back. */
  erase: "DEL" | "BS";
  enter: "CR" | "CR LF" | "LF";
  capitals: boolean;
}

const ENTER: Readonly<Record<KeyHabits["enter"], string>> = { CR: "\r", "CR LF": "\r\n", LF: "\n" };

/** Keys as the widget gives them, as this terminal would send them. */
export function asTyped(keys: string, { erase, enter, capitals }: KeyHabits): string {
  const ended = keys.replaceAll("\r", ENTER[enter]).replaceAll("\u007f", erase === "BS" ? "\b" : "\u007f");
  // Not in control functions: their letters are their names.
  return capitals && !ended.startsWith("\u001b") ? ended.replace(/[a-z]/g, (each) => each.toUpperCase()) : ended;
}
