import { asciiBytes, type CodeName, characterOf } from "../bytes/index.ts";
import type { Ability } from "./ability.ts";
import { controlOf, escapeOf, sequenceOf } from "./functions.ts";
import { OwnCodes } from "./own-codes.ts";
import { Page, type Row } from "./page.ts";
import { afterSgr, Rendition } from "./rendition.ts";
import { parameter, Scanner, type ScanSink, type Sequence } from "./scanner.ts";

/** Modes of SM and RM that the model has: insertion replacement, and line feed new line (4th edition). */
const IRM = 4;
const LNM = 20;

/** Control sequences that the model draws, by final byte, and SL and SR (final byte with intermediate 02/00). */
const DRAWN =
  "ICH CUU CUD CUF CUB CNL CPL CHA CUP CHT ED EL IL DL DCH SU SD CTC ECH CBT HPA HPR REP VPA VPR HVP TBC SM HPB VPB RM SGR DSR SL SR".split(
    " ",
  );
const DRAWN_CONTROLS = ["IND", "NEL", "HTS", "RI"];

/** Names of the ECMA-48 functions that change what the model shows or where it shows it. The C0 format effectors aside. */
export const DRAWN_FUNCTIONS: ReadonlySet<string> = new Set([...DRAWN, ...DRAWN_CONTROLS, "RIS"]);

/** What each byte looks like on this terminal, as the byte that is kept. */
function shownBytes({ bits, upperOnly }: Ability): Uint8Array {
  return Uint8Array.from({ length: 256 }, (_, each) => {
    const byte = bits === 7 ? each & 0x7f : each;
    // A generator of 64 characters shows columns 6 and 7 of the code as 4 and 5: common practice, no source.
    return upperOnly && byte >= 0x60 && byte <= 0x7e ? byte - 0x20 : byte;
  });
}

/**
 * A screen or a roll of paper of any ability: takes what a line brings and shows it as that terminal would, garbage
 * included. Choices that ECMA-48 leaves open: with the last column filled the active position waits there; BS and the
 * cursor functions then count from the last column; ED and EL then erase nothing to the right.
 */
export class Screen implements ScanSink {
  readonly ability: Ability;
  readonly page: Page;
  #scanner: Scanner;
  readonly #shown: Uint8Array;
  #own: OwnCodes | undefined;
  readonly #obeysAll: boolean;
  #replies: number[] = [];
  #tabs: Uint8Array;
  #insert = false;
  #newLine = false;
  #rendition = 0;
  /** The last graphic character, for REP; −1 where the last thing was something else. */
  #last = -1;
  #x = 0;
  #y = 0;
  /** Times that BEL rang. */
  bells = 0;

  /** `page`: what it shows to begin with. */
  constructor(ability: Ability, page = new Page(ability.columns, ability.rows)) {
    this.ability = ability;
    this.page = page;
    this.#shown = shownBytes(ability);
    this.#tabs = this.#startTabs();
    this.#scanner = new Scanner(this, { bits: ability.bits, sequences: ability.obeys.size > 0 });
    this.#own = ability.codes.length > 0 ? new OwnCodes(ability, this.#scanner, this) : undefined;
    this.#obeysAll = [...DRAWN_FUNCTIONS].every((name) => ability.obeys.has(name));
  }

  /** A screen that goes on from here by itself, sequences under way included. */
  copy(): Screen {
    const copy = new Screen(this.ability, this.page.copy());
    copy.#scanner = this.#scanner.copy(copy);
    copy.#own = this.#own?.copy(copy.#scanner, copy);
    copy.#replies = [...this.#replies];
    copy.#tabs = this.#tabs.slice();
    copy.#insert = this.#insert;
    copy.#newLine = this.#newLine;
    copy.#rendition = this.#rendition;
    copy.#last = this.#last;
    copy.#x = this.#x;
    copy.#y = this.#y;
    copy.bells = this.bells;
    return copy;
  }

  get columns(): number {
    return this.ability.columns;
  }
  get rows(): number {
    return this.ability.rows;
  }
  /** Active position, from 0. `waits`: the last column is filled and the next character goes to the next line. */
  get cursor(): { row: number; column: number; waits: boolean } {
    return { row: this.#y, column: Math.min(this.#x, this.columns - 1), waits: this.#x >= this.columns };
  }
  /** The rendition in which the next character is shown. */
  get rendition(): number {
    return this.#rendition;
  }
  /** False while a control function has begun and not ended. */
  get atRest(): boolean {
    return this.#scanner.atRest && (this.#own?.atRest ?? true);
  }

  write(bytes: Uint8Array, from = 0, to = bytes.length): void {
    if (this.#own) this.#own.write(bytes, from, to);
    else this.#scanner.write(bytes, from, to);
  }

  /** What the terminal has to send back: answers to DSR. Taken, they are gone. */
  takeReplies(): Uint8Array {
    const replies = Uint8Array.from(this.#replies);
    this.#replies = [];
    return replies;
  }

  /** A row as text in a code of ISO 646; what has no character there is shown as in ISO 8859-1, or as a box. */
  line(index: number, code: CodeName = "plain"): string {
    return rowText(this.page.row(index), code);
  }
  /** All rows, without the blanks at their ends. */
  lines(code: CodeName = "plain"): string[] {
    return Array.from({ length: this.rows }, (_, index) => this.line(index, code).trimEnd());
  }

  text(bytes: Uint8Array, from: number, to: number): void {
    const { columns } = this;
    const shown = this.#shown;
    if (this.ability.paper || this.#insert || this.ability.wrap !== "with the next character") {
      for (let i = from; i < to; i++) this.#put(shown[bytes[i]!]!);
    } else {
      let i = from;
      while (i < to) {
        if (this.#x >= columns) {
          this.#x = 0;
          this.#feed();
        }
        const row = this.page.row(this.#y);
        const { characters } = row;
        const start = this.#x;
        const end = Math.min(columns, start + to - i);
        for (let x = start; x < end; x++) characters[x] = shown[bytes[i++]!]!;
        if (this.#rendition !== 0 || !row.plain) {
          const { renditions } = row;
          const rendition = this.#rendition;
          for (let x = start; x < end; x++) renditions[x] = rendition;
          row.plain = false;
        }
        this.#x = end;
      }
    }
    this.#last = shown[bytes[to - 1]!]!;
  }

  control(byte: number): void {
    this.#last = -1;
    switch (byte) {
      case 0x07:
        this.bells++;
        return;
      case 0x08:
        this.#x = Math.max(0, Math.min(this.#x, this.columns - 1) - 1);
        return;
      case 0x09:
        this.tab(1);
        return;
      case 0x0a:
      case 0x0b:
        this.lineFeed();
        return;
      case 0x0c:
        // On paper, to the head of the next page; on a screen without a code of its own for it, like LF.
        if (this.ability.paper) this.#formFeed();
        else this.lineFeed();
        return;
      case 0x0d:
        this.#x = 0;
        if (this.ability.returnFeeds) this.#feed();
        return;
      case 0x84:
      case 0x85:
      case 0x88:
      case 0x8d:
        if (this.#obeysAll || this.ability.obeys.has(controlOf(byte).name)) this.#c1(byte);
    }
  }

  escape(intermediates: number, final: number): void {
    this.#last = -1;
    if (intermediates === 0 && final === 0x63 && this.ability.obeys.has(escapeOf(0, final).name)) this.#reset();
  }

  string(): void {
    this.#last = -1;
  }

  fault(): void {
    this.#last = -1;
  }

  sequence(sequence: Sequence): void {
    const last = this.#last;
    this.#last = -1;
    const { lead, intermediates, final } = sequence;
    if (lead !== 0 || final >= 0x70) return;
    if (!this.#obeysAll && !this.ability.obeys.has(sequenceOf(lead, intermediates, final).name)) return;
    if (intermediates === 0x20) this.#sideways(final, parameter(sequence, 0, 1, "as left out"));
    else if (intermediates === 0) this.#obey(final, sequence, last);
  }

  // What the terminal's own codes may ask for as well.

  place(row: number, column: number): void {
    this.#y = Math.max(0, Math.min(row, this.rows - 1));
    this.#x = Math.max(0, Math.min(column, this.columns - 1));
  }

  /** From the active position, or from the last column where that is filled. */
  move(rows: number, columns: number): void {
    this.place(this.#y + rows, Math.min(this.#x, this.columns - 1) + columns);
  }

  lineFeed(): void {
    if (this.ability.feedReturns || this.#newLine) this.#x = 0;
    this.#feed();
    if (this.#x >= this.columns) this.#x = this.columns - 1;
  }

  eraseInPage(what: number): void {
    if (this.ability.paper) return;
    if (what === 0) {
      this.page.erase(this.#y, this.#x, this.columns);
      this.page.eraseRows(this.#y + 1, this.rows);
    } else if (what === 1) {
      this.page.eraseRows(0, this.#y);
      this.page.erase(this.#y, 0, this.#x + 1);
    } else if (what === 2) this.page.clear();
  }

  eraseInLine(what: number): void {
    if (this.ability.paper) return;
    if (what === 0) this.page.erase(this.#y, this.#x, this.columns);
    else if (what === 1) this.page.erase(this.#y, 0, this.#x + 1);
    else if (what === 2) this.page.erase(this.#y, 0, this.columns);
  }

  insertLines(count: number): void {
    this.page.insertRows(this.#y, count);
    this.#x = 0;
  }
  deleteLines(count: number): void {
    this.page.deleteRows(this.#y, count);
    this.#x = 0;
  }
  insertCharacters(count: number): void {
    this.move(0, 0);
    this.page.insertCharacters(this.#y, this.#x, count);
  }
  deleteCharacters(count: number): void {
    this.move(0, 0);
    this.page.deleteCharacters(this.#y, this.#x, count);
  }

  tab(count: number): void {
    if (this.#x >= this.columns || this.ability.tabs === 0) return;
    for (let left = count; left > 0 && this.#x < this.columns - 1; left--) {
      do this.#x++;
      while (this.#x < this.columns - 1 && !this.#tabs[this.#x]);
    }
  }

  #backTab(count: number): void {
    if (this.#x >= this.columns) return;
    for (let left = count; left > 0 && this.#x > 0; left--) {
      do this.#x--;
      while (this.#x > 0 && !this.#tabs[this.#x]);
    }
  }

  #feed(): void {
    if (this.#y < this.rows - 1) this.#y++;
    else if (this.ability.scrolls) this.page.scrollUp();
  }

  #formFeed(): void {
    const line = this.page.scrolledOff + this.#y;
    for (let left = this.rows - (line % this.rows); left > 0; left--) this.#feed();
  }

  /** One character, with insertion, paper and every way of wrapping. */
  #put(character: number): void {
    const { columns } = this;
    if (this.#x >= columns) {
      if (this.ability.wrap === "never") this.#x = columns - 1;
      else {
        this.#x = 0;
        this.#feed();
      }
    }
    if (this.#insert) this.page.insertCharacters(this.#y, this.#x, 1);
    if (this.ability.paper) this.page.strike(this.#y, this.#x, character, this.#rendition);
    else {
      const row = this.page.row(this.#y);
      row.characters[this.#x] = character;
      if (this.#rendition !== 0 || !row.plain) {
        row.renditions[this.#x] = this.#rendition;
        row.plain = false;
      }
    }
    this.#x++;
    if (this.#x >= columns && this.ability.wrap === "at once") {
      this.#x = 0;
      this.#feed();
    }
  }

  #c1(byte: number): void {
    if (byte === 0x88) {
      this.#tabs[this.#x] = 1;
      return;
    }
    if (byte === 0x85) this.#x = 0;
    else this.move(0, 0);
    if (byte !== 0x8d) this.#feed();
    else if (this.#y > 0) this.#y--;
    else this.page.scrollDown();
  }

  #obey(final: number, sequence: Sequence, last: number): void {
    const n = parameter(sequence, 0, 1, "as left out");
    const { columns, rows } = this;
    switch (final) {
      case 0x40: // ICH
        this.insertCharacters(Math.min(n, columns));
        return;
      case 0x41: // CUU
      case 0x6b: // VPB
        this.move(-n, 0);
        return;
      case 0x42: // CUD
      case 0x65: // VPR
        this.move(n, 0);
        return;
      case 0x43: // CUF
      case 0x61: // HPR
        this.move(0, n);
        return;
      case 0x44: // CUB
      case 0x6a: // HPB
        this.move(0, -n);
        return;
      case 0x45: // CNL
        this.place(this.#y + n, 0);
        return;
      case 0x46: // CPL
        this.place(this.#y - n, 0);
        return;
      case 0x47: // CHA
      case 0x60: // HPA
        this.place(this.#y, n - 1);
        return;
      case 0x48: // CUP
      case 0x66: // HVP
        this.place(n - 1, parameter(sequence, 1, 1, "as left out") - 1);
        return;
      case 0x49: // CHT
        this.tab(n);
        return;
      case 0x4a: // ED
        this.eraseInPage(parameter(sequence, 0, 0, "zero counts"));
        return;
      case 0x4b: // EL
        this.eraseInLine(parameter(sequence, 0, 0, "zero counts"));
        return;
      case 0x4c: // IL
        this.insertLines(Math.min(n, rows));
        return;
      case 0x4d: // DL
        this.deleteLines(Math.min(n, rows));
        return;
      case 0x50: // DCH
        this.deleteCharacters(Math.min(n, columns));
        return;
      case 0x53: // SU
        for (let i = Math.min(n, rows); i > 0; i--) this.page.scrollUp();
        return;
      case 0x54: // SD
        for (let i = Math.min(n, rows); i > 0; i--) this.page.scrollDown();
        return;
      case 0x57: // CTC
        this.#tabControl([0, -1, 1, -1, -1, 3][parameter(sequence, 0, 0, "zero counts")] ?? -1);
        return;
      case 0x58: // ECH
        this.move(0, 0);
        if (!this.ability.paper) this.page.erase(this.#y, this.#x, this.#x + Math.min(n, columns));
        return;
      case 0x5a: // CBT
        this.#backTab(n);
        return;
      case 0x62: // REP
        this.#repeat(last, n);
        return;
      case 0x64: // VPA
        this.place(n - 1, this.#x);
        return;
      case 0x67: // TBC
        this.#tabControl([1, -1, -1, 3][parameter(sequence, 0, 0, "zero counts")] ?? -1);
        return;
      case 0x68: // SM
      case 0x6c: // RM
        for (let i = 0; i < sequence.count; i++) {
          const mode = parameter(sequence, i, 0, "zero counts");
          if (mode === IRM) this.#insert = final === 0x68;
          if (mode === LNM) this.#newLine = final === 0x68;
        }
        return;
      case 0x6d: // SGR
        this.#rendition = afterSgr(this.#rendition, sequence);
        return;
      case 0x6e: // DSR
        this.#report(parameter(sequence, 0, 0, "zero counts"));
    }
  }

  /** SL and SR: the text moves to the left or the right in every row. */
  #sideways(final: number, count: number): void {
    const n = Math.min(count, this.columns);
    for (let row = 0; row < this.rows; row++)
      if (final === 0x40) this.page.deleteCharacters(row, 0, n);
      else if (final === 0x41) this.page.insertCharacters(row, 0, n);
  }

  #repeat(character: number, count: number): void {
    if (character < 0) return;
    // Beyond a whole page more of the same changes nothing but the column.
    const area = this.rows * this.columns;
    const times = count > 2 * area ? area + (count % this.columns) : count;
    for (let i = 0; i < times; i++) this.#put(character);
  }

  /** 0 sets a stop here, 1 clears it, 3 clears all. */
  #tabControl(what: number): void {
    if (what === 3) this.#tabs.fill(0);
    else if (what >= 0) this.#tabs[this.#x] = what === 0 ? 1 : 0;
  }

  #report(what: number): void {
    const { row, column } = this.cursor;
    if (what === 5) this.#replies.push(...asciiBytes("\u001b[0n"));
    if (what === 6) this.#replies.push(...asciiBytes(`\u001b[${row + 1};${column + 1}R`));
  }

  #startTabs(): Uint8Array {
    const { tabs, columns } = this.ability;
    return Uint8Array.from({ length: columns }, (_, column) => (tabs > 0 && column % tabs === 0 ? 1 : 0));
  }

  #reset(): void {
    this.page.clear();
    this.place(0, 0);
    this.#rendition = 0;
    this.#insert = this.#newLine = false;
    this.#tabs = this.#startTabs();
  }
}

const BOX = "▒";

/** The characters of a row in a code. Struck positions, which nobody can read, are shown as a box. */
export function rowText({ characters, renditions, plain }: Row, code: CodeName = "plain"): string {
  let text = "";
  for (let column = 0; column < characters.length; column++) {
    const byte = characters[column]!;
    const struck = !plain && (renditions[column]! & Rendition.Struck) !== 0;
    text += struck ? BOX : characterOf(byte, code) || (byte >= 0xa0 ? String.fromCharCode(byte) : BOX);
  }
  return text;
}
