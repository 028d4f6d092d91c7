import type { Of, PlannedTest } from "../../plan/types.ts";
import { ECHO, slackOf } from "../dialect.ts";
import { dollar } from "../source.ts";
import { Memory6809 } from "./memory.ts";

/**
 * The 6809 does everything in its registers: no stack, no byte of memory is relied on at any time. So a program in an EPROM
 * tests every byte, and a bad one cannot lead it astray.
 */
export class Dialect6809 extends Memory6809 {
  protected sum(test: PlannedTest, step: Of<"sum">): void {
    const next = this.label("byte");
    const { past, wanted } = this.sumOf(step);
    this.out.gap();
    this.out.say(`The sum of all bytes of ${step.title}.`);
    this.out.code(` ldx #${dollar(step.from, 4)}\n ldd #0\n${next} addb ,x+\n adca #0\n cmpx #${past}\n bne ${next}`);
    const good = this.label("right");
    if (wanted !== undefined) this.out.code(` cmpd #${dollar(wanted, 4)}\n beq ${good}`);
    this.out.code(" tfr d,s");
    this.tell(test, step.element, "G", wanted);
    this.out.code(good);
  }

  protected period(test: PlannedTest, { element, timer }: Of<"period">): void {
    // 5 + 2 + 3 + 5 + 3 cycles a turn, of 11 bytes that may have to wait.
    const turn = 18 + 11 * this.plan.waits + timer.waits;
    const wanted = Math.round(timer.every / turn);
    const slack = slackOf(wanted);
    const [first, come, count, over, bad, good] = this.labels("first", "come", "count", "over", "bad", "good");
    const flag = `lda >${dollar(timer.flag.at, 4)}\n anda #${dollar(timer.flag.mask)}`;
    this.out.gap();
    this.out.say(`${timer.title}: turns of a loop of ${turn} cycles from one flag to the next, ${wanted} ± ${slack}.`);
    this.pokes(timer.start);
    this.clear(timer);
    this.out.code(` ldx #0 ; wait for the first\n${first} ${flag}\n bne ${come}\n leax 1,x\n bne ${first}`);
    this.out.code(come);
    this.clear(timer);
    this.out.code(` ldx #0\n${count} ${flag}\n bne ${over}\n leax 1,x\n bne ${count}`);
    this.out.code(
      `${over} cmpx #${wanted - slack}\n blo ${bad}\n cmpx #${wanted + slack + 1}\n blo ${good}\n${bad} tfr x,s`,
    );
    this.tell(test, element, "G", wanted);
    this.out.code(good);
  }

  protected interrupt(test: PlannedTest, { element, timer, stack }: Of<"interrupt">): void {
    const [wait, come] = this.labels("wait", "come");
    this.out.gap();
    this.out.say(`${timer.title}: does its interrupt come? What the CPU stacks then is never looked at.`);
    this.out.code(` lds #${dollar(stack, 4)}`);
    this.pokes(timer.start);
    this.clear(timer);
    this.pokes(timer.interrupt!.enable);
    this.out.code(
      ` leau ${come},pcr ; where the interrupt goes on\n ldx #0\n andcc #$EF\n${wait} leax 1,x\n bne ${wait}\n orcc #$10`,
    );
    this.out.code(" lds #0 ; none came");
    this.tell(test, element, "G", 1);
    this.out.code(`${come} orcc #$50`);
    this.pokes(timer.interrupt!.disable);
    this.clear(timer);
  }

  protected echo(test: PlannedTest, step: Of<"echo">): void {
    const { element, voice, mask, marks } = step;
    const table = this.table(marks);
    const [echo, next, send, ready, full, wait, come, wrong, over] = this.labels("echo", "next", "send", ...ECHO);
    const backs = this.rates(step, (index) => ` lda #${index} ; number of the rate\n tfr a,dp\n lbra ${echo}`);
    const status = (bit: number) => `lda >${dollar(voice.status, 4)}\n bita #${dollar(bit)}`;
    const data = dollar(voice.data, 4);
    this.out.code(` lbra ${over}\n${echo} lda >${data} ; takes away what came before\n lds #${table}`);
    this.out.code(`${send} ldx #0\n${ready} ${status(voice.ready)}\n bne ${full}\n leax 1,x\n bne ${ready}`);
    this.out.code(
      `${full} lda 6,s\n sta >${data}\n ldx #0\n${wait} ${status(voice.received)}\n bne ${come}\n leax 1,x\n bne ${wait}`,
    );
    this.out.code(" ldx 4,s ; nothing came\n clra");
    this.markFound(test, element + 1, true, next);
    this.out.code(`${come} lda >${data}\n anda #${dollar(mask)}\n cmpa 6,s\n bne ${wrong}`);
    this.onward(send);
    this.out.code(` bra ${next}\n${wrong} ldx 4,s`);
    this.markFound(test, element, true, next);
    this.out.code(`${next} tfr dp,a ; which rate was it?`);
    for (const [index, back] of backs.entries()) this.out.code(` cmpa #${index}\n lbeq ${back}`);
    this.out.code(over);
  }
}
