import type { Of, PlannedTest } from "../../plan/types.ts";
import type { Stretch } from "../../types.ts";
import { type CellOperation, elementSign, type Walk } from "../dialect.ts";
import { dollar } from "../source.ts";
import { SpeechZ80 } from "./speech.ts";

/** Marches over memory, and marks in it. */
export abstract class MemoryZ80 extends SpeechZ80 {
  protected readonly jump = "jp";

  protected march(test: PlannedTest, step: Of<"march">): void {
    const { out } = this;
    const { backgrounds } = step;
    const [turn, done] = this.labels("turn", "done");
    out.say("One turn for each pattern.");
    out.code(` ld b,${dollar(backgrounds[0]!)}\n${turn} ld a,b\n cpl\n ld c,a ; the complement`);
    this.elements(test, step, step.space.stretches);
    out.gap();
    if (backgrounds.length === 1) return;
    const find = this.label("find");
    out.code(` ld a,b\n cp ${dollar(backgrounds.at(-1)!)} ; the last pattern?\n jp z,${done}`);
    out.code(` ld hl,patterns\n${find} ld a,(hl)\n inc hl\n cp b\n jr nz,${find}\n ld b,(hl) ; the next\n jp ${turn}`);
    out.code(done);
  }

  protected clearCount(): void {
    this.out.code(" exx\n ld de,0 ; findings of this element\n exx");
  }

  protected over({ from, to, views }: Stretch, { down, select }: Walk, operations: () => void): void {
    const { out } = this;
    const [cell, view] = this.labels("cell", "view");
    if (views && select) {
      const show = select.port ? `out (${dollar(select.at, 2)}),a` : `ld (${dollar(select.at, 4)}),a`;
      out.code(` ld a,${down ? views.last : views.first}\n${view} ${show} ; show it\n exx\n ld c,a\n exx`);
    }
    const past = (to + 1) & 0xffff;
    out.code(` ld hl,${dollar(down ? past : from, 4)}${down ? " ; one above the last" : ""}`);
    out.code(` ld de,${dollar(down ? from : past, 4)}\n${cell}`);
    if (down) out.code(" dec hl");
    operations();
    if (!down) out.code(" inc hl");
    out.code(` ld a,l\n cp e\n jr nz,${cell}\n ld a,h\n cp d\n jr nz,${cell}`);
    if (views && select) {
      const end = dollar((down ? views.first - 1 : views.last + 1) & 0xff);
      out.code(` exx\n ld a,c\n exx\n ${down ? "dec" : "inc"} a\n cp ${end}\n jr nz,${view}`);
    }
  }

  protected operation({ read, value }: CellOperation, _: Walk, wrong: string): string {
    const pattern = value === 0 ? "b" : "c";
    return read ? ` ld a,(hl)\n cp ${pattern} ; r${value}\n jr nz,${wrong}` : ` ld (hl),${pattern} ; w${value}`;
  }

  protected site(wrong: string, back: string, test: PlannedTest, number: number, value: number, view: boolean): string {
    const at = this.label("at");
    const data = `"${test.letter}","${elementSign(number)}",${value},${view ? 1 : 0}`;
    return `${wrong} ld ix,${at}\n jp found\n${at} db ${data}\n jp ${back}`;
  }

  protected tally(test: PlannedTest, number: number): void {
    const none = this.label("none");
    this.out.code(` exx ; how many?\n ld a,d\n or e\n exx\n jr z,${none}`);
    this.tell(test, number, "X", undefined);
    this.out.code(none);
  }

  protected writeMarks({ marks, port }: Of<"write marks">): void {
    const next = this.label("mark");
    this.out.gap();
    this.out.code(` ld iy,${this.table(marks)} ; the marks: a list in this program\n${next}`);
    this.show(marks[0]?.show !== undefined, port);
    this.out.code(` ld l,(iy+4)\n ld h,(iy+5) ; the address\n ld a,(iy+6) ; the mark\n ld (hl),a`);
    this.onward(next);
  }

  protected readMarks(test: PlannedTest, { element, marks, mask, port }: Of<"read marks">): void {
    const next = this.label("mark");
    const wrong = this.label("bad");
    const site = this.label("site");
    const past = this.label("past");
    const shown = marks[0]?.show !== undefined;
    this.out.gap();
    this.out.code(` ld iy,${this.table(marks)}\n${next}`);
    this.show(shown, port);
    this.out.code(` ld l,(iy+4)\n ld h,(iy+5)\n ld a,(hl)`);
    if (mask !== 0xff) this.out.code(` and ${dollar(mask)}`);
    this.out.code(` cp (iy+6) ; is it there?\n jr nz,${wrong}\n${site}`);
    this.onward(next);
    this.out.code(` jp ${past}`);
    this.out.code(wrong);
    this.markFound(test, element, shown, site);
    this.out.code(past);
  }

  /** Marks that lie behind a latch begin with its address and what is written there, and with the number told. */
  private show(latched: boolean, port: boolean): void {
    if (!latched) return;
    this.out.code(` ld l,(iy+0)\n ld h,(iy+1) ; the latch\n ld a,(iy+2) ; what it gets`);
    this.out.code(port ? " ld c,l\n out (c),a" : " ld (hl),a");
    this.out.code(` ld a,(iy+3) ; the number that is told\n exx\n ld c,a\n exx`);
  }

  protected onward(next: string): void {
    this.out.code(` ld a,(iy+7) ; is there another?\n ld de,8\n add iy,de\n or a\n jp nz,${next}`);
  }
}
