/** Text of foreign bytes, made safe to show: nothing from an image reaches a terminal or a page as a control function. */

/** Four, two … hex digits in capitals, as the trade writes addresses: `hex(0xc000, 4)` is `C000`. */
export const hex = (value: number, digits: number): string =>
  (value >>> 0).toString(16).toUpperCase().padStart(digits, "0");

/** `$C000`, the way the bench file writes an address. */
export const address = (value: number): string => `$${hex(value, value > 0xffff ? 6 : 4)}`;

/** ISO 646 (IRV) text; anything outside 20–7E is shown as `.`. */
export function plainText(bytes: Uint8Array): string {
  let out = "";
  for (const byte of bytes) out += byte >= 0x20 && byte <= 0x7e ? String.fromCharCode(byte) : ".";
  return out;
}

/** Makes any string safe for a terminal: C0, DEL, C1 and the bidirectional overrides become visible `\x1B` forms. */
export const visible = (text: string): string =>
  text.replace(/[\u0000-\u001f\u007f-\u009f\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff]/g, (found) => {
    const code = found.charCodeAt(0);
    return code < 0x100 ? `\\x${hex(code, 2)}` : `\\u${hex(code, 4)}`;
  });

/** Bytes of ISO 646 text; a character above 7E becomes `?`. */
export const asciiBytes = (text: string): Uint8Array =>
  Uint8Array.from(text, (character) => {
    const code = character.charCodeAt(0);
    return code <= 0x7f ? code : 0x3f;
  });
