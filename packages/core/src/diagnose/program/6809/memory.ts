import type { Of, PlannedTest } from "../../plan/types.ts";
import { elementSign } from "../dialect.ts";
import { dollar } from "../source.ts";
import { COPY, Speech6809 } from "./speech.ts";

/** Marches over memory, and marks in it. */
export abstract class Memory6809 extends Speech6809 {
  protected march(test: PlannedTest, { space, march, backgrounds, select, seconds }: Of<"march">): void {
    const { out } = this;
    const turn = this.label("turn");
    out.say("One turn for each pattern.");
    out.code(turn);
    for (const [index, element] of march.elements.entries()) {
      const number = index + 1;
      const { down, order } = this.order(element, space.stretches);
      const cells = this.cells(element);
      const sites: string[] = [];
      const reads = cells.some((each) => each.read);
      if (element.delay) this.wait(seconds);
      this.heading(element, number);
      if (reads) out.code(" lds #0 ; findings of this element");
      for (const { from, to, views } of order) {
        const cell = this.label("cell");
        const view = this.label("view");
        if (views && select) {
          out.code(
            ` lda #${down ? views.last : views.first}\n${view} tfr a,dp\n sta >${dollar(select.at, 4)} ; show it`,
          );
        } else out.code(" clra\n tfr a,dp");
        out.code(` ldx #${dollar(down ? to + 1 : from, 4)}${down ? " ; one above the last" : ""}`);
        out.code(cell);
        for (const each of cells) {
          // A descending element counts down before its first operation, an ascending one behind its last.
          const where = down && each.first ? ",-x" : !down && each.last && !each.read ? ",x+" : ",x";
          const pattern = each.value === 0 ? ",y" : "1,y";
          if (each.read) {
            const site = this.label("site");
            const wrong = this.label("bad");
            out.code(` lda ${where}\n cmpa ${pattern} ; r${each.value}\n bne ${wrong}\n${site}`);
            sites.push(this.site(wrong, site, test, number, each.value, views !== undefined));
          } else out.code(` lda ${pattern}\n sta ${where} ; w${each.value}`);
        }
        if (!down && cells.at(-1)!.read) out.code(" leax 1,x");
        out.code(` cmpx #${dollar(down ? from : to + 1, 4)}\n bne ${cell}`);
        if (views && select)
          out.code(
            down
              ? ` tfr dp,a\n deca\n cmpa #${dollar((views.first - 1) & 0xff)}\n bne ${view}`
              : ` tfr dp,a\n inca\n cmpa #${dollar((views.last + 1) & 0xff)}\n bne ${view}`,
          );
        if (sites.length > 0) {
          const past = this.label("past");
          out.code(` bra ${past}`);
          for (const each of sites.splice(0)) out.code(each);
          out.code(past);
        }
      }
      if (reads) this.tally(test, number);
    }
    out.gap();
    out.code(
      ` leay 2,y ; the next pattern\n tfr y,d\n andb #${COPY - 1}\n cmpb #${2 * backgrounds.length}\n lbne ${turn}\n leay -${2 * backgrounds.length},y`,
    );
  }

  /** What is done at a wrong byte: tell it, go on. Test, element, whose pattern was wanted, and whether a view is shown. */
  private site(wrong: string, back: string, test: PlannedTest, number: number, value: number, view: boolean): string {
    const at = this.label("at");
    const data = `"${test.letter}","${elementSign(number)}",${value},${view ? 1 : 0}`;
    return `${wrong} leau ${at},pcr\n lbra found\n${at} fcb ${data}\n lbra ${back}`;
  }

  private tally(test: PlannedTest, number: number): void {
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
