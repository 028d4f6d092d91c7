/**
 * The two families of failure. An `InputError` is the person's or the image's: one clear sentence, exit code 2.
 * A `BugError` is ours: a broken invariant, exit code 70 and a report.
 */

/** A position in a text the person wrote; both 1-based. */
export interface TextPlace {
  line: number;
  column: number;
}

/** Something in a file, an image or a command that cannot be used. `code` is stable; the sentence may be reworded. */
export class InputError extends Error {
  override readonly name: string = "InputError";
  readonly code: string;

  constructor(code: string, sentence: string) {
    super(sentence);
    this.code = code;
  }
}

/** Foreign bytes that do not hold what they claim. `offset` is in bytes from the start of the image or file. */
export class FormatError extends InputError {
  override readonly name = "FormatError";
  readonly offset: number;

  constructor(code: string, sentence: string, offset: number) {
    super(code, `${sentence} (at byte ${offset})`);
    this.offset = offset;
  }
}

/** A broken invariant of our own. */
export class BugError extends Error {
  override readonly name = "BugError";
}
