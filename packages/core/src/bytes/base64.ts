const SIGNS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
/** Bytes written at a time; a multiple of three. */
const STRETCH = 3 * 8192;

/** Bytes in base64 (RFC 4648 section 4), with padding. */
export function base64(bytes: Uint8Array): string {
  const parts: string[] = [];
  for (let from = 0; from < bytes.length; from += STRETCH) {
    let part = "";
    const to = Math.min(bytes.length, from + STRETCH);
    for (let at = from; at < to; at += 3) {
      const three = (bytes[at]! << 16) | ((bytes[at + 1] ?? 0) << 8) | (bytes[at + 2] ?? 0);
      part += SIGNS[three >> 18]! + SIGNS[(three >> 12) & 63]!;
      part += at + 1 < to ? SIGNS[(three >> 6) & 63]! : "=";
      part += at + 2 < to ? SIGNS[three & 63]! : "=";
    }
    parts.push(part);
  }
  return parts.join("");
}
