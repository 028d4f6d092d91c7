const ENTITIES: Readonly<Record<string, string>> = {
  "&": "&amp;",
  "<": "&lt;",
  ">": "&gt;",
  '"': "&quot;",
  "'": "&#39;",
};

/** Text made safe for HTML; control characters become their visible pictures, so that nothing of an image acts. */
export const escapeHtml = (text: string): string =>
  text
    .replace(/[&<>"']/g, (character) => ENTITIES[character]!)
    .replace(/[\u0000-\u0008\u000b-\u001f\u007f]/g, (character) =>
      String.fromCodePoint(character === "\u007f" ? 0x2421 : 0x2400 + character.charCodeAt(0)),
    );
