import type { Ability, OwnCode } from "./ability.ts";
import type { Scanner } from "./scanner.ts";

const ESC = 0x1b;

/** What a code may have the screen do. */
interface ScreenActs {
  place(row: number, column: number): void;
  move(rows: number, columns: number): void;
  lineFeed(): void;
  eraseInPage(what: number): void;
  eraseInLine(what: number): void;
  insertLines(count: number): void;
  deleteLines(count: number): void;
  insertCharacters(count: number): void;
  deleteCharacters(count: number): void;
}

/** Finds a terminal's own short codes in what it receives, and hands the rest to the scanner. */
export class OwnCodes {
  readonly #ability: Ability;
  readonly #scanner: Scanner;
  readonly #screen: ScreenActs;
  readonly #leads: Uint8Array;
  readonly #ledByEscape: boolean;
  /** Bytes that may yet become a code. */
  #held: number[] = [];
  /** Set while the two bytes after a `place` code are awaited. */
  #placing: number[] | undefined;

  constructor(ability: Ability, scanner: Scanner, screen: ScreenActs) {
    this.#ability = ability;
    this.#scanner = scanner;
    this.#screen = screen;
    this.#leads = new Uint8Array(256);
    for (const { bytes } of ability.codes) this.#leads[bytes[0]!] = 1;
    this.#ledByEscape = this.#leads[ESC] === 1;
  }

  copy(scanner: Scanner, screen: ScreenActs): OwnCodes {
    const copy = new OwnCodes(this.#ability, scanner, screen);
    copy.#held = [...this.#held];
    copy.#placing = this.#placing && [...this.#placing];
    return copy;
  }

  get atRest(): boolean {
    return this.#held.length === 0 && this.#placing === undefined;
  }

  write(bytes: Uint8Array, from: number, to: number): void {
    let start = from;
    for (let i = from; i < to; i++) {
      const byte = this.#ability.bits === 7 ? bytes[i]! & 0x7f : bytes[i]!;
      if (this.atRest && (this.#leads[byte] === 0 || byte >= 0x20)) continue;
      // The scanner must have all that went before, to say whether a sequence of its own is open.
      if (this.atRest) {
        this.#scanner.write(bytes, start, i);
        start = i;
        if (!this.#scanner.atRest) {
          this.#scanner.write(bytes, i, i + 1);
          start = i + 1;
          continue;
        }
      }
      this.#take(byte);
      start = i + 1;
    }
    this.#scanner.write(bytes, start, to);
  }

  #take(byte: number): void {
    if (this.#placing) {
      this.#placing.push(byte);
      if (this.#placing.length === 2) this.#place(this.#placing[0]!, this.#placing[1]!);
      return;
    }
    this.#held.push(byte);
    const possible = this.#ability.codes.filter(({ bytes }) => this.#held.every((each, i) => bytes[i] === each));
    const whole = possible.find(({ bytes }) => bytes.length === this.#held.length);
    if (whole) {
      this.#held = [];
      this.#act(whole);
    } else if (possible.length === 0) this.#release();
  }

  /** What began like a code was none. A terminal that knows only its own pairs swallows an unknown one after ESC. */
  #release(): void {
    const held = Uint8Array.from(this.#held);
    this.#held = [];
    if (this.#ledByEscape && this.#ability.obeys.size === 0 && held[0] === ESC) return;
    this.#scanner.write(held, 0, 1);
    this.write(held, 1, held.length);
  }

  #place(first: number, second: number): void {
    this.#placing = undefined;
    const { place } = this.#ability;
    if (!place) return;
    const [row, column] = place.order === "row first" ? [first, second] : [second, first];
    this.#screen.place(row - place.offset, column - place.offset);
  }

  #act({ act }: OwnCode): void {
    const screen = this.#screen;
    switch (act) {
      case "place":
        this.#placing = [];
        return;
      case "left":
        screen.move(0, -1);
        return;
      case "right":
        screen.move(0, 1);
        return;
      case "up":
        screen.move(-1, 0);
        return;
      case "down":
        screen.lineFeed();
        return;
      case "home":
        screen.place(0, 0);
        return;
      case "clear":
        screen.eraseInPage(2);
        screen.place(0, 0);
        return;
      case "eraseLine":
        screen.eraseInLine(0);
        return;
      case "eraseScreen":
        screen.eraseInPage(0);
        return;
      case "insertLine":
        screen.insertLines(1);
        return;
      case "deleteLine":
        screen.deleteLines(1);
        return;
      case "insertCharacter":
        screen.insertCharacters(1);
        return;
      case "deleteCharacter":
        screen.deleteCharacters(1);
    }
  }
}
