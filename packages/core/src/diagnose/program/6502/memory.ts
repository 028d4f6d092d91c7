import type { Of, PlannedTest } from "../../plan/types.ts";
import type { Stretch } from "../../types.ts";
import { type CellOperation, elementSign, type Walk } from "../dialect.ts";
import { dollar } from "../source.ts";
import { Speech6502 } from "./speech.ts";

/** Marches over memory, and marks in it. */
export abstract class Memory6502 extends Speech6502 {
  protected readonly jump = "jmp";

  protected march(test: PlannedTest, step: Of<"march">): void {
    if (this.work === undefined) this.zeroPage(test, step);
    else this.pages(test, step);
  }

  /** The zero page by registers: X the byte, Y the pattern. */
  private zeroPage(test: PlannedTest, { march, backgrounds }: Of<"march">): void {
    const { out } = this;
    const turn = this.label("turn");
    this.usesStuck = true;
    out.say("One turn for each pattern: Y counts them in twos. X is the address.");
    out.code(` ldy #0\n${turn}`);
    for (const [index, element] of march.elements.entries()) {
      const down = element.direction === "down";
      const cell = this.label("cell");
      const past = this.label("past");
      const sites: string[] = [];
      this.heading(element, index + 1);
      out.code(` ldx #0\n${cell}`);
      if (down) out.code(" dex");
      for (const { read, value } of this.cells(element)) {
        const pattern = value === 0 ? "patterns,y" : "patterns+1,y";
        if (read) {
          const wrong = this.label("bad");
          out.code(` lda $00,x\n cmp ${pattern} ; r${value}\n bne ${wrong}`);
          sites.push(`${wrong} txs ; S keeps the address, X what was read\n tax`);
          sites.push(this.sent(`lda #'${test.letter}'`), this.sent(`lda #'${elementSign(index + 1)}'`));
          sites.push(`${value === 0 ? "" : " iny ; the complement was wanted\n"} jmp stuck`);
        } else out.code(` lda ${pattern}\n sta $00,x ; w${value}`);
      }
      out.code(`${down ? " cpx #0" : " inx"}\n bne ${cell}`);
      if (sites.length > 0) {
        out.code(` jmp ${past}`);
        for (const each of sites) out.code(each);
        out.code(past);
      }
    }
    const done = this.label("done");
    out.gap();
    out.code(` iny ; the next pattern\n iny\n cpy #${2 * backgrounds.length}\n beq ${done}\n jmp ${turn}\n${done}`);
  }

  private pages(test: PlannedTest, step: Of<"march">): void {
    const { out } = this;
    const turn = this.label("turn");
    out.say("One turn for each pattern: S counts them in twos.");
    out.code(` ldx #0\n${turn} txs`);
    this.elements(test, step, step.space.stretches.flatMap(inPages));
    const done = this.label("done");
    out.gap();
    out.code(
      ` tsx ; the next pattern\n inx\n inx\n cpx #${2 * step.backgrounds.length}\n beq ${done}\n jmp ${turn}\n${done}`,
    );
  }

  protected clearCount(): void {
    this.out.code(` lda #0 ; findings of this element\n sta ${this.z("count")}\n sta ${this.z("count")}+1`);
  }

  protected over({ from, to, views }: Stretch, { down, select }: Walk, operations: () => void): void {
    const { out } = this;
    const [page, cell, view] = this.labels("page", "cell", "view");
    const shown = this.z("view");
    if (views && select)
      out.code(
        ` lda #${down ? views.last : views.first}\n sta ${shown}\n${view} lda ${shown}\n sta ${dollar(select.at, 4)} ; show it`,
      );
    const [first, end] = [from & 0xff, (to + 1) & 0xff];
    const several = from >> 8 !== to >> 8;
    // Y comes to 0 at the end of each page, where the next one begins.
    out.code(` ldx #${dollar((down ? to : from) >> 8)}\n ldy #${dollar(down ? end : first)}\n${page}`);
    this.refresh();
    if (down && several && first > 0) {
      const whole = this.label("whole");
      out.code(
        ` lda #0 ; how far down in this page\n cpx #${dollar(from >> 8)}\n bne ${whole}\n lda #${dollar(first)}\n${whole} sta ${this.z("stop")}`,
      );
    }
    out.code(cell);
    if (down) out.code(" dey");
    operations();
    if (down) out.code(` cpy ${several && first > 0 ? this.z("stop") : `#${dollar(first)}`}\n bne ${cell}`);
    else out.code(` iny\n${end === 0 ? "" : ` cpy #${dollar(end)}\n`} bne ${cell}`);
    if (several) {
      const past = ((down ? from : to) >> 8) + (down ? -1 : 1);
      out.code(` ${down ? "dex" : "inx"}\n cpx #${dollar(past & 0xff)}\n bne ${page}`);
    }
    if (views && select) {
      const last = this.label("last");
      const past = dollar((down ? views.first - 1 : views.last + 1) & 0xff);
      out.code(` ${down ? "dec" : "inc"} ${shown}\n lda ${shown}\n cmp #${past}\n beq ${last}\n jmp ${view}\n${last}`);
    }
  }

  protected operation({ read, value }: CellOperation, _: Walk, wrong: string): string {
    const pattern = this.z(value === 0 ? "zero" : "one");
    const here = `(${this.z("pointer")}),y`;
    return read
      ? ` lda ${here}\n cmp ${pattern} ; r${value}\n bne ${wrong}`
      : ` lda ${pattern}\n sta ${here} ; w${value}`;
  }

  /** Writes pointer and patterns anew, from X and S. */
  private refresh(): void {
    this.out.code(` stx ${this.z("pointer")}+1\n stx ${this.z("page")}\n lda #0\n sta ${this.z("pointer")}`);
    this.out.code(
      ` tsx\n lda patterns,x\n sta ${this.z("zero")}\n lda patterns+1,x\n sta ${this.z("one")}\n ldx ${this.z("page")}`,
    );
  }

  protected site(wrong: string, back: string, test: PlannedTest, number: number, value: number, view: boolean): string {
    return this.told(wrong, "found", `"${test.letter}","${elementSign(number)}",${value},${view ? 1 : 0}`, back);
  }

  protected tally(test: PlannedTest, number: number): void {
    const none = this.label("none");
    this.out.code(` lda ${this.z("count")} ; how many?\n ora ${this.z("count")}+1\n beq ${none}`);
    this.tell(test, number, "X", undefined, none);
    this.out.code(none);
  }

  protected writeMarks({ marks }: Of<"write marks">): void {
    const next = this.mark(marks[0]?.show !== undefined, this.table(marks));
    this.out.code(` lda ${this.z("zero")}\n sta (${this.z("pointer")}),y`);
    this.onward(next);
  }

  protected readMarks(test: PlannedTest, { element, marks, mask }: Of<"read marks">): void {
    const shown = marks[0]?.show !== undefined;
    const next = this.mark(shown, this.table(marks));
    const good = this.label("good");
    this.out.code(` lda (${this.z("pointer")}),y`);
    if (mask !== 0xff) this.out.code(` and #${dollar(mask)}`);
    this.out.code(` cmp ${this.z("zero")} ; is it there?\n beq ${good}`);
    this.out.code(` ldx ${this.z("pointer")}+1\n ldy ${this.z("pointer")}`);
    this.markFound(test, element, shown, good);
    this.out.code(good);
    this.onward(next);
  }

  /** Goes to a mark of a list: what shows it is written, `pointer` gets its address, `zero` the mark, Y is 0. */
  protected mark(latched: boolean, table: string): string {
    const next = this.label("mark");
    const { out } = this;
    const list = this.z("list");
    const pointer = this.z("pointer");
    out.gap();
    out.code(
      ` lda #low(${table}) ; the marks: a list in this program\n sta ${list}\n lda #high(${table})\n sta ${list}+1`,
    );
    out.code(`${next} ldy #0`);
    if (latched) {
      out.code(` lda (${list}),y ; the latch\n sta ${pointer}\n iny\n lda (${list}),y\n sta ${pointer}+1\n iny`);
      out.code(` lda (${list}),y ; what it gets\n ldy #0\n sta (${pointer}),y`);
      out.code(` ldy #3\n lda (${list}),y ; the number that is told\n sta ${this.z("view")}`);
    }
    out.code(
      ` ldy #4\n lda (${list}),y ; the address\n sta ${pointer}\n iny\n lda (${list}),y\n sta ${pointer}+1\n iny`,
    );
    out.code(` lda (${list}),y ; the mark\n sta ${this.z("zero")}\n ldy #0`);
    return next;
  }

  protected onward(next: string): void {
    const list = this.z("list");
    const same = this.label("same");
    const done = this.label("done");
    this.out.code(
      ` ldy #7\n lda (${list}),y ; is there another?\n beq ${done}\n lda ${list}\n clc\n adc #8\n sta ${list}`,
    );
    this.out.code(` bcc ${same}\n inc ${list}+1\n${same} jmp ${next}\n${done}`);
  }
}

/** A stretch in pieces that lie within a page, or begin anywhere and end with a page. */
function inPages(stretch: Stretch): Stretch[] {
  const { from, to } = stretch;
  const past = (to + 1) & ~0xff;
  if (from >> 8 === to >> 8 || past === to + 1) return [stretch];
  return [
    { ...stretch, to: past - 1 },
    { ...stretch, from: past },
  ];
}
