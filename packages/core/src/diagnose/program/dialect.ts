import type { CpuName } from "../../assemble/index.ts";
import { BugError } from "../../errors/index.ts";
import { elementText, marchText } from "../march/march.ts";
import type { MarchElement } from "../march/types.ts";
import type { Mark, Of, Plan, PlannedTest, Poke, Step } from "../plan/types.ts";
import type { Stretch, TestKind } from "../types.ts";
import { dollar, Source } from "./source.ts";

/** Number of an element or step in a report: one digit or capital. */
export const elementSign = (number: number): string => number.toString(36).toUpperCase();

/** Findings of one element that are told: the first four, and then only these, so that a dead chip does not fill the line. */
export const TOLD = [16, 64, 256, 1024, 4096, 16_384] as const;
export const TOLD_FIRST = 4;

/** What a test is for, in a few words. */
const ABOUT: Readonly<Record<TestKind, string>> = {
  march:
    "A march goes through all memory several times, up (⇑) or down (⇓). r0 reads a byte and wants what stands for 0, w1 writes the complement of that, and so on. A bit that sticks, or that changes when another is written, or two addresses that are one place, must show at one of the reads.",
  retention:
    "Everything is written and then left alone for a while: a cell that leaks, or a row that is not refreshed, has forgotten it.",
  address:
    "A mark at the first address and at each that differs from it in one address line, and another way round. Mark 80 is the first address's, 81 line A0's, and so on: a wrong mark says which line is dead, or joined to which.",
  views:
    "Each bank or block gets a mark of its own, and another way round. One that is missing, or that answers for another, is read with a wrong mark.",
  latches: "What is shown must follow the latch from every value to every other, and stay while time passes.",
  rom: "All bytes are added up, 16 bits. A sum that is not known beforehand is told, to compare with that of another day.",
  timer: "Turns of a loop of known length are counted from one flag to the next; then the interrupt is waited for.",
  port: "What is sent must arrive: look at it, or let a loop plug bring it back.",
};

/** How long until the last line is said again; and of a lamp that flashes meanwhile. */
const AGAIN_SECONDS = 10;
const FLASHES = 4;
const FLASH_SECONDS = 0.5;

/** How far a count may be off, turns: a thirty-second part, and 2 for where in a turn the flags fall. */
export const slackOf = (wanted: number): number => Math.ceil(wanted / 32) + 2;

/** Labels of a loop test that every dialect needs for sending a byte and waiting for it. */
export const ECHO = ["ready", "full", "wait", "come", "wrong", "over"] as const;

/** One operation of an element as a dialect writes it. */
export interface CellOperation {
  read: boolean;
  /** 0 or 1: the background or its complement. */
  value: 0 | 1;
  first: boolean;
  last: boolean;
}

/** An element on its way over a stretch. */
export interface Walk {
  down: boolean;
  cells: readonly CellOperation[];
  /** What shows the views of a stretch that has some. */
  select: Of<"march">["select"];
}

/** A text as any terminal shows it: capitals, digits and the commonest signs. */
const plain = (text: string): string =>
  text
    .toUpperCase()
    .replaceAll("−", "-")
    .replaceAll(/[^ A-Z0-9+,.:/()-]/g, "?");

/** What writes a program for one CPU. The frame is the same for all three; a dialect supplies the parts. */
export abstract class Dialect {
  readonly out = new Source();
  protected readonly plan: Plan;
  /** Texts that the program says, by label. */
  protected readonly texts: { label: string; text: string }[] = [];
  protected readonly tables: { label: string; marks: readonly Mark[] }[] = [];
  /** Whether something tells a number of four digits. */
  protected usesNumbers = false;
  private ownSum = 0;
  private ownSums = 0;
  private labelled = 0;

  abstract readonly cpu: CpuName;
  /** The jump over what is done at wrong bytes. */
  protected abstract readonly jump: string;
  /** How often a wanted sum stands in the code. */
  protected readonly sumPlaces = 2;
  /** Sentences on how this CPU's registers are used. */
  protected abstract readonly registers: readonly string[];

  constructor(plan: Plan) {
    this.plan = plan;
  }

  /** The whole source. `id` is what the report begins with, `ownSum` the sum of the program's bytes. */
  write(id: string, ownSum = 0): string {
    this.ownSum = ownSum;
    const { out, plan } = this;
    this.header();
    this.names();
    out.gap();
    out.add("org", dollar(plan.code.from, 4));
    this.begin();
    this.pokes(plan.prelude);
    this.ready();
    this.speak(`BEGIN ${id}\r\n`);
    for (const test of plan.tests) this.test(test);
    this.end();
    this.routines();
    this.data();
    if (plan.vectors !== undefined) this.vectors(plan.vectors);
    return out.text;
  }

  /** The last address of a sum and what is wanted: for the program itself a name, and what it was assembled with. */
  protected sumOf({ to, wanted }: Of<"sum">): { past: string; wanted: number | undefined } {
    if (to !== undefined) return { past: dollar((to + 1) & 0xffff, 4), wanted };
    this.ownSums++;
    return { past: "code_end", wanted: this.ownSum };
  }

  protected label(stem: string): string {
    return `${stem}${++this.labelled}`;
  }

  protected labels<const T extends readonly string[]>(...stems: T): { -readonly [K in keyof T]: string } {
    return stems.map((each) => this.label(each)) as { -readonly [K in keyof T]: string };
  }

  /** Remembers a text and gives its label. */
  protected text(text: string): string {
    const known = this.texts.find((each) => each.text === text);
    if (known) return known.label;
    const label = `text${this.texts.length + 1}`;
    this.texts.push({ label, text });
    return label;
  }

  protected table(marks: readonly Mark[]): string {
    const known = this.tables.find((each) => each.marks === marks);
    if (known) return known.label;
    const label = `marks${this.tables.length + 1}`;
    this.tables.push({ label, marks });
    return label;
  }

  protected cells({ operations }: MarchElement): CellOperation[] {
    return operations.map(({ kind, value }, index) => ({
      read: kind === "read",
      value,
      first: index === 0,
      last: index === operations.length - 1,
    }));
  }

  protected abstract names(): void;
  /** The first instruction, labelled `start`. */
  protected abstract begin(): void;
  protected abstract pokes(pokes: readonly Poke[]): void;
  /** Registers as all that follows expects them. */
  protected abstract ready(): void;
  protected abstract speak(text: string): void;
  protected abstract verdict(test: PlannedTest): void;
  protected abstract march(test: PlannedTest, step: Of<"march">): void;
  /** Sets the number of an element's findings to 0. */
  protected abstract clearCount(): void;
  /** Goes over a stretch in all its views; `operations` writes what is done at each byte. */
  protected abstract over(stretch: Stretch, walk: Walk, operations: () => void): void;
  /** What is done at a byte; a read that finds another value goes to `wrong`. */
  protected abstract operation(cell: CellOperation, walk: Walk, wrong: string): string;
  /** What is done at a wrong byte: tell it, go on. Test, element, whose pattern was wanted, whether a view is shown, the way back. */
  protected abstract site(
    wrong: string,
    back: string,
    test: PlannedTest,
    number: number,
    value: number,
    view: boolean,
  ): string;
  /** Tells how many findings an element had, if any. */
  protected abstract tally(test: PlannedTest, number: number): void;
  protected abstract writeMarks(step: Of<"write marks">): void;
  protected abstract readMarks(test: PlannedTest, step: Of<"read marks">): void;
  protected abstract wait(seconds: number): void;
  protected abstract sum(test: PlannedTest, step: Of<"sum">): void;
  protected abstract period(test: PlannedTest, step: Of<"period">): void;
  protected abstract interrupt(test: PlannedTest, step: Of<"interrupt">): void;
  protected abstract echo(test: PlannedTest, step: Of<"echo">): void;
  protected abstract end(): void;
  protected abstract routines(): void;
  protected abstract data(): void;
  protected abstract vectors(at: number): void;

  protected open(test: PlannedTest): void {
    const { screen } = this.plan.signs;
    if (screen !== undefined)
      this.pokes([{ at: screen, port: false, value: test.letter.charCodeAt(0), meaning: "its letter on the screen" }]);
    this.speak(`${test.letter}: ${plain(test.title)}\r\n`);
  }

  /**
   * Lists of marks, eight bytes each: latch, what it gets, number told, address, mark, whether another follows. Then the texts, and
   * that all this fits.
   */
  protected lists(word: string, byte: string): void {
    const { out, plan } = this;
    // The wanted sum stands in the program; its complement beside each keeps the sum as it is.
    for (let each = 0; each < this.ownSums * this.sumPlaces; each++)
      out.add(
        byte,
        `$FF-${dollar(this.ownSum >> 8)},$FF-${dollar(this.ownSum & 0xff)}`,
        "balances the sum of the program",
      );
    for (const { label, marks } of this.tables) {
      out.gap();
      out.code(label);
      for (const [index, { show, view, address, byte: mark }] of marks.entries()) {
        out.add(word, dollar(show?.at ?? 0, 4));
        out.add(byte, `${dollar(show?.value ?? 0)},${dollar(view ?? show?.value ?? 0)}`);
        out.add(word, dollar(address, 4));
        out.add(byte, `${dollar(mark)},${index + 1 < marks.length ? 1 : 0}`);
      }
    }
    out.gap();
    for (const { label, text } of this.texts) this.textBytes(byte, label, text);
    out.code("code_end");
    out.code(` assert * <= ${dollar(Math.min(0xffff, plan.code.to + 1), 4)}, "the program is longer than its place"`);
  }

  /** A text with a zero behind it; signs that mean something in a source go as numbers. */
  private textBytes(byte: string, label: string, text: string): void {
    const pieces = text.match(/[ !#-&(-:<-~]+|[\s\S]/g) ?? [];
    const shown = pieces.map((each) => (/^[ !#-&(-:<-~]/.test(each) ? `"${each}"` : dollar(each.charCodeAt(0))));
    this.out.add(byte, [...shown, "0"].join(","), "", label);
  }

  private test(test: PlannedTest): void {
    const { out } = this;
    out.gap();
    out.say(`--- Test ${test.letter}: ${test.title} ---`);
    out.say(ABOUT[test.kind]);
    if (test.march) out.say(marchText(test.march.elements));
    for (const { from, to, view, why } of test.space?.left ?? [])
      out.say(`Not tested: ${dollar(from, 4)} to ${dollar(to, 4)}${view === undefined ? "" : ` of ${view}`}, ${why}.`);
    out.gap();
    this.open(test);
    for (const step of test.steps) this.step(test, step);
    this.verdict(test);
  }

  private step(test: PlannedTest, step: Step): void {
    if (step.kind === "march") this.march(test, step);
    else if (step.kind === "write marks") this.writeMarks(step);
    else if (step.kind === "read marks") this.readMarks(test, step);
    else if (step.kind === "wait") this.wait(step.seconds);
    else if (step.kind === "pokes") this.pokes(step.pokes);
    else if (step.kind === "sum") this.sum(test, step);
    else if (step.kind === "period") this.period(test, step);
    else if (step.kind === "counter") this.counter(test, step);
    else if (step.kind === "interrupt") this.interrupt(test, step);
    else if (step.kind === "echo") this.echo(test, step);
    else for (const line of step.lines) this.speak(`${line}\r\n`);
  }

  private header(): void {
    const { out, plan } = this;
    out.say(`Tests for ${plan.title}, made by Rouse from its bench file.`);
    out.say(
      plan.place === "eprom"
        ? "This goes into an EPROM in the place of the monitor's: the reset starts it."
        : `Load this into memory and start it at ${dollar(plan.code.from, 4)}.`,
    );
    out.say("");
    for (const test of plan.tests) out.say(`  ${test.letter}  ${test.title}`);
    out.say("");
    out.say(
      `It speaks through the port “${plan.voice.port}”. A line such as “C3 G5D W55 A1234 N02” means: test C, element 3, got 5D and wanted 55 at address 1234, with bank or block 2 shown. Of each element the first ${TOLD_FIRST} findings are told, and then the ${TOLD.join("th, ")}th; “C3 X0F00” is their number.`,
    );
    out.say("");
    for (const sentence of this.registers) out.say(sentence);
    for (const note of plan.notes) out.say(note);
    out.gap();
  }

  /** For CPUs that a counter-timer of this family belongs to. */
  protected counter(_test: PlannedTest, _step: Of<"counter">): void {
    throw new BugError(`no counter-timers are tested on the ${this.cpu}`);
  }

  /** The last line and the signs for it, again and again; `jump` is the CPU's long jump. */
  protected verdicts(jump: string): void {
    const { out, plan } = this;
    const { good, bad, on, off } = plan.signs;
    out.code("all_good");
    this.pokes(good);
    this.speak("END GOOD\r\n");
    this.wait(AGAIN_SECONDS);
    out.code(` ${jump} all_good ; says it again and again, until you switch off\nsome_bad`);
    this.pokes(bad);
    this.speak("END BAD\r\n");
    if (on.length === 0) this.wait(AGAIN_SECONDS);
    else
      for (let flash = 0; flash < FLASHES; flash++) {
        this.pokes(on);
        this.wait(FLASH_SECONDS);
        this.pokes(off);
        this.wait(FLASH_SECONDS);
      }
    out.code(` ${jump} some_bad`);
  }

  /** Heading of an element, as a comment. */
  protected heading(element: MarchElement, number: number): void {
    this.out.gap();
    this.out.say(`Element ${elementSign(number)}: ${elementText(element)}`);
  }

  /** All elements of a march over some stretches, with one pattern. */
  protected elements(test: PlannedTest, { march, select, seconds }: Of<"march">, stretches: readonly Stretch[]): void {
    const { out } = this;
    for (const [index, element] of march.elements.entries()) {
      const number = index + 1;
      const walk: Walk = { down: element.direction === "down", cells: this.cells(element), select };
      const reads = walk.cells.some((each) => each.read);
      if (element.delay) this.wait(seconds);
      this.heading(element, number);
      if (reads) this.clearCount();
      for (const stretch of walk.down ? [...stretches].reverse() : stretches) {
        const sites: string[] = [];
        this.over(stretch, walk, () => {
          for (const each of walk.cells) {
            const [site, wrong] = each.read ? this.labels("site", "bad") : ["", ""];
            out.code(this.operation(each, walk, wrong));
            if (!each.read) continue;
            out.code(site);
            sites.push(this.site(wrong, site, test, number, each.value, stretch.views !== undefined));
          }
        });
        if (sites.length === 0) continue;
        const past = this.label("past");
        out.code(` ${this.jump} ${past}`);
        for (const each of sites) out.code(each);
        out.code(past);
      }
      if (reads) this.tally(test, number);
    }
  }

  /**
   * Begins a loop test: each rate is set, and `go` keeps its number and goes to where bytes are sent. Gives the labels to come back to.
   */
  protected rates({ rates }: Of<"echo">, go: (index: number) => string): string[] {
    const backs = rates.map(() => this.label("back"));
    for (const [index, { rate, pokes }] of rates.entries()) {
      this.out.gap();
      this.out.say(`${rate} bit/s.`);
      this.pokes(pokes);
      this.out.code(`${go(index)}\n${backs[index]}`);
    }
    this.out.gap();
    this.out.say("Sends each byte and waits for it.");
    return backs;
  }
}
