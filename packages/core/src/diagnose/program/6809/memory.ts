import type { Of, PlannedTest } from "../../plan/types.ts";
import type { Stretch } from "../../types.ts";
import { type CellOperation, elementSign, type Walk } from "../dialect.ts";
import { dollar } from "../source.ts";
import { COPY, Speech6809 } from "./speech.ts";

/** Marches over memory, and marks in it. */
export abstract class Memory6809 extends Speech6809 {
  protected readonly jump = "bra";

  protected march(test: PlannedTest, step: Of<"march">): void {
    const turn = this.label("turn");
    const bytes = 2 * step.backgrounds.length;
    this.out.say("One turn for each pattern.");
    this.out.code(turn);
    this.elements(test, step, step.space.stretches);
    this.out.gap();
    this.out.code(
      ` leay 2,y ; the next pattern\n tfr y,d\n andb #${COPY - 1}\n cmpb #${bytes}\n lbne ${turn}\n leay -${bytes},y`,
    );
  }

  protected clearCount(): void {
    this.out.code(" lds #0 ; findings of this element");
  }

  protected over({ from, to, views }: Stretch, { down, cells, select }: Walk, operations: () => void): void {
    const { out } = this;
    const [cell, view] = this.labels("cell", "view");
    if (views && select)
      out.code(` lda #${down ? views.last : views.first}\n${view} tfr a,dp\n sta >${dollar(select.at, 4)} ; show it`);
    else out.code(" clra\n tfr a,dp");
    out.code(` ldx #${dollar(down ? to + 1 : from, 4)}${down ? " ; one above the last" : ""}\n${cell}`);
    operations();
    if (!down && cells.at(-1)!.read) out.code(" leax 1,x");
    out.code(` cmpx #${dollar(down ? from : to + 1, 4)}\n bne ${cell}`);
    if (views && select) {
      const past = dollar((down ? views.first - 1 : views.last + 1) & 0xff);
      out.code(` tfr dp,a\n ${down ? "deca" : "inca"}\n cmpa #${past}\n bne ${view}`);
    }
  }

  protected operation({ read, value, first, last }: CellOperation, { down }: Walk, wrong: string): string {
    // A descending element counts down before its first operation, an ascending one behind its last.
    const where = down && first ? ",-x" : !down && last && !read ? ",x+" : ",x";
    const pattern = value === 0 ? ",y" : "1,y";
    return read
      ? ` lda ${where}\n cmpa ${pattern} ; r${value}\n bne ${wrong}`
      : ` lda ${pattern}\n sta ${where} ; w${value}`;
  }

  protected site(wrong: string, back: string, test: PlannedTest, number: number, value: number, view: boolean): string {
    const at = this.label("at");
    const data = `"${test.letter}","${elementSign(number)}",${value},${view ? 1 : 0}`;
    return `${wrong} leau ${at},pcr\n lbra found\n${at} fcb ${data}\n lbra ${back}`;
  }

  protected tally(test: PlannedTest, number: number): void {
    const none = this.label("none");
    this.out.code(` cmps #0 ; how many?\n beq ${none}`);
    this.tell(test, number, "X", undefined);
    this.out.code(none);
  }

  protected writeMarks({ marks }: Of<"write marks">): void {
    const next = this.label("mark");
    this.out.gap();
    this.out.code(` lds #${this.table(marks)} ; the marks: a list in this program\n${next}`);
    this.show(marks[0]?.show !== undefined);
    this.out.code(" ldx 4,s ; the address\n lda 6,s ; the mark\n sta ,x");
    this.onward(next);
  }

  protected readMarks(test: PlannedTest, { element, marks, mask }: Of<"read marks">): void {
    const next = this.label("mark");
    const wrong = this.label("bad");
    const site = this.label("site");
    const past = this.label("past");
    const shown = marks[0]?.show !== undefined;
    this.out.gap();
    this.out.code(` lds #${this.table(marks)}\n${next}`);
    this.show(shown);
    this.out.code(" ldx 4,s\n lda ,x");
    if (mask !== 0xff) this.out.code(` anda #${dollar(mask)}`);
    this.out.code(` cmpa 6,s ; is it there?\n bne ${wrong}\n${site}`);
    this.onward(next);
    this.out.code(` bra ${past}\n${wrong}`);
    this.markFound(test, element, shown, site);
    this.out.code(past);
  }

  /** Marks that lie behind a latch begin with its address and what is written there, and with the number told. */
  private show(latched: boolean): void {
    if (latched)
      this.out.code(" ldx ,s ; the latch\n ldd 2,s ; what it gets, and the number that is told\n sta ,x\n tfr b,dp");
  }

  protected onward(next: string): void {
    this.out.code(` lda 7,s ; is there another?\n leas 8,s\n tsta\n bne ${next}`);
  }
}
