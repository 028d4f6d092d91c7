import type { Of, PlannedTest } from "../../plan/types.ts";
import { ECHO, slackOf } from "../dialect.ts";
import { dollar } from "../source.ts";
import { Memory6502 } from "./memory.ts";

/**
 * The 6502 has no register that holds an address, so a program needs a few bytes of the zero page. That page is tested first, by
 * registers alone; then all else, and once more with those bytes elsewhere, so that every byte of main memory is tested with every
 * other. Nothing is stacked: page 1 is memory like the rest.
 */
export class Dialect6502 extends Memory6502 {
  protected sum(test: PlannedTest, step: Of<"sum">): void {
    const [next, carry, same, good, wrong] = this.labels("byte", "carry", "same", "right", "wrong");
    const [pointer, count] = [this.z("pointer"), this.z("count")];
    const { past, wanted } = this.sumOf(step);
    this.out.gap();
    this.out.say(`The sum of all bytes of ${step.title}.`);
    this.out.code(
      ` lda #${dollar(step.from & 0xff)}\n sta ${pointer}\n lda #${dollar(step.from >> 8)}\n sta ${pointer}+1`,
    );
    this.out.code(
      ` ldy #0\n sty ${count}\n sty ${count}+1\n${next} lda (${pointer}),y\n clc\n adc ${count}\n sta ${count}`,
    );
    this.out.code(` bcc ${carry}\n inc ${count}+1\n${carry} inc ${pointer}\n bne ${same}\n inc ${pointer}+1`);
    this.out.code(
      `${same} lda ${pointer}\n cmp #low(${past})\n bne ${next}\n lda ${pointer}+1\n cmp #high(${past})\n bne ${next}`,
    );
    if (wanted !== undefined) {
      this.out.code(` lda ${count}\n cmp #${dollar(wanted & 0xff)}\n bne ${wrong}`);
      this.out.code(` lda ${count}+1\n cmp #${dollar(wanted >> 8)}\n beq ${good}\n${wrong}`);
    }
    this.tell(test, step.element, "G", wanted, good);
    this.out.code(good);
  }

  protected period(test: PlannedTest, { element, timer }: Of<"period">): void {
    const flag = ` lda ${dollar(timer.flag.at, 4)}\n and #${dollar(timer.flag.mask)}`;
    // 4 + 2 + 2 + 2 + 3 cycles a turn, and 4 more each 256th; of 11 bytes and 4 that may have to wait: INX and INY read one more.
    const { waits } = this.plan;
    const turn = 13 + 11 * waits + timer.waits;
    const wanted = Math.round(timer.every / (turn + (4 + 4 * waits) / 256));
    const slack = slackOf(wanted);
    const [first, come, count, over, bad, good] = this.labels("first", "come", "count", "over", "bad", "good");
    const total = this.z("count");
    const until = (label: string, end: string) =>
      ` ldx #0\n ldy #0\n jmp ${label}\n align 32 ; in one page, where branches take no cycle more\n${label}${flag}\n bne ${end}\n inx\n bne ${label}\n iny\n bne ${label}\n${end}`;
    this.out.gap();
    this.out.say(`${timer.title}: turns of a loop of ${turn} cycles from one flag to the next, ${wanted} ± ${slack}.`);
    this.pokes(timer.start);
    this.clear(timer);
    this.out.code(until(first, come));
    this.clear(timer);
    this.out.code(until(count, over));
    this.out.code(` stx ${total}\n sty ${total}+1`);
    const least = wanted - slack;
    const past = wanted + slack + 1;
    this.out.code(` cpx #${dollar(least & 0xff)}\n tya\n sbc #${dollar(least >> 8)}\n bcc ${bad} ; too few`);
    this.out.code(` cpx #${dollar(past & 0xff)}\n tya\n sbc #${dollar(past >> 8)}\n bcc ${good}\n${bad}`);
    this.tell(test, element, "G", wanted, good);
    this.out.code(good);
  }

  protected interrupt(test: PlannedTest, { element, timer }: Of<"interrupt">): void {
    const [wait, come] = this.labels("wait", "come");
    const pointer = this.z("pointer");
    this.out.gap();
    this.out.say(`${timer.title}: does its interrupt come? What the CPU stacks then is never looked at.`);
    this.out.code(
      ` lda #low(${come}) ; where the interrupt goes on\n sta ${pointer}\n lda #high(${come})\n sta ${pointer}+1`,
    );
    this.pokes(timer.start);
    this.clear(timer);
    this.pokes(timer.interrupt!.enable);
    this.out.code(` ldx #0\n ldy #0\n cli\n${wait} inx\n bne ${wait}\n iny\n bne ${wait}\n sei`);
    this.out.code(` sty ${this.z("count")} ; none came\n sty ${this.z("count")}+1`);
    this.tell(test, element, "G", 1, come);
    this.out.code(`${come} sei`);
    this.pokes(timer.interrupt!.disable);
    this.clear(timer);
  }

  protected echo(test: PlannedTest, step: Of<"echo">): void {
    const { element, voice, mask, marks } = step;
    const [echo, next, ready, full, wait, come, wrong, over] = this.labels("echo", "next", ...ECHO);
    const backs = this.rates(
      step,
      (index) => ` lda #${index} ; number of the rate\n sta ${this.z("view")}\n jmp ${echo}`,
    );
    const status = (bit: number) => `lda ${dollar(voice.status, 4)}\n and #${dollar(bit)}`;
    const data = dollar(voice.data, 4);
    const turns = (label: string) => `inx\n bne ${label}\n iny\n bne ${label}`;
    const register = ` ldx #${dollar(voice.data >> 8)}\n ldy #${dollar(voice.data & 0xff)}`;
    this.out.code(` jmp ${over}\n${echo} lda ${data} ; takes away what came before`);
    const send = this.mark(false, this.table(marks));
    this.out.code(` ldx #0\n${ready} ${status(voice.ready)}\n bne ${full}\n ${turns(ready)}`);
    this.out.code(
      `${full} lda ${this.z("zero")}\n sta ${data}\n ldx #0\n ldy #0\n${wait} ${status(voice.received)}\n bne ${come}\n ${turns(wait)}`,
    );
    this.out.code(`${register} ; nothing came\n lda #0`);
    this.markFound(test, element + 1, true, next);
    this.out.code(`${come} lda ${data}\n and #${dollar(mask)}\n cmp ${this.z("zero")}\n bne ${wrong}`);
    this.onward(send);
    this.out.code(` jmp ${next}\n${wrong}\n${register}`);
    this.markFound(test, element, true, next);
    this.out.code(`${next} lda ${this.z("view")} ; which rate was it?`);
    for (const [index, back] of backs.entries()) {
      const other = this.label("other");
      this.out.code(` cmp #${index}\n bne ${other}\n jmp ${back}\n${other}`);
    }
    this.out.code(over);
  }
}
