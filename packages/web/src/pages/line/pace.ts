/** The pace of text without a protocol; times in ms as written. */
export interface PaceWish {
  character: string;
  line: string;
  end: "cr" | "lf" | "crlf" | "keep";
  /** Character to wait for after each line, or nothing. */
  prompt: string;
}

export const FIRST_PACE: PaceWish = { character: "", line: "", end: "cr", prompt: "" };

/** For the server: numbers where they are written. */
export function paceAsked({ character, line, end, prompt }: PaceWish): object {
  const ms = (text: string): number => Math.max(0, Number(text.replace(",", ".")) || 0);
  return { character: ms(character), line: ms(line), end, prompt };
}
