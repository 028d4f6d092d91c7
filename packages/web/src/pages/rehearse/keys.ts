/** The control character of a key that is pressed with Ctrl (ISO 646: bits 6 and 7 off); undefined where it has none. */
export function controlKey(key: string): string | undefined {
  if (key.length !== 1) return undefined;
  const code = key.toUpperCase().charCodeAt(0);
  if (code === 0x3f) return "\u007f";
  return code >= 0x40 && code <= 0x5f ? String.fromCharCode(code & 0x1f) : undefined;
}

/** What a keyboard, a phone's or a paste puts in, as the machine gets it: an end of line is one CR. */
export function typedText(event: Pick<InputEvent, "inputType" | "data" | "dataTransfer">): string {
  if (event.inputType === "insertLineBreak" || event.inputType === "insertParagraph") return "\r";
  if (event.inputType.startsWith("delete")) return "\b";
  const text = event.data ?? event.dataTransfer?.getData("text/plain") ?? "";
  return text.replace(/\r\n|\n/g, "\r");
}
