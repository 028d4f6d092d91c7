import { VECTORS } from "../../plan/counters.ts";
import { HANDLER, holdsMode1, MODE_1, tableOf } from "../../plan/response.ts";
import type { Of, PlannedTest, Response } from "../../plan/types.ts";
import { slackOf } from "../dialect.ts";
import { dollar } from "../source.ts";
import { MemoryZ80 } from "./memory.ts";

/** Of these interrupts two are waited for, and a third must not come at once. */
const DUE = 2;
/** Cycles and bytes of one turn of a waiting loop: 6 + 4 + 4 + 12. */
const WAIT_TURN = { cycles: 26, bytes: 5 };
/** What one more reload costs besides the turns: 4 + 4 + 4 + 12 + 7 + 12, less 5 for each of two loops that end. */
const RELOAD = { cycles: 33, bytes: 9 };

/** Timers: flags, counters, and interrupts in modes 1 and 2. Cycles and responses: UM0080. */
export abstract class TimersZ80 extends MemoryZ80 {
  /** How the interrupts of this program come. */
  private get responses(): Response[] {
    const steps = this.plan.tests.flatMap((each) => each.steps);
    return steps.flatMap((step) => (step.kind === "interrupt" && step.response ? [step.response] : []));
  }

  /** Cycles of some lines where each byte that is fetched may have to wait. */
  private cyclesOf({ cycles, bytes }: { cycles: number; bytes: number }): number {
    return cycles + bytes * this.plan.waits;
  }

  /** The same of a loop that reads a register: 11 cycles by a port's number, else 13 and a byte more. */
  private turnOf({ port, waits }: { port: boolean; waits: number }, cycles: number, bytes: number): number {
    return this.cyclesOf({ cycles: cycles + (port ? 11 : 13), bytes: bytes + (port ? 2 : 3) }) + waits;
  }

  protected override begin(): void {
    super.begin();
    const { out, plan } = this;
    const { from } = plan.code;
    const own = this.responses.some((each) => each.mode === 1 && each.handler === "program");
    const vectors = this.responses.some(({ mode }) => mode === 2);
    if (!own && !vectors) return;
    out.code(" jp past_handlers");
    if (own && holdsMode1(from)) {
      out.gap();
      out.say("--- Interrupts of mode 1 come here ---");
      out.gap();
      out.code(` ds ${dollar(MODE_1)}-*,0\non_interrupt jp (ix)`);
    }
    if (vectors) this.vectorTable(from);
    out.gap();
    out.code("past_handlers");
  }

  /** The table of mode 2, and where it leads: on at IX, with the vector in A, or FF for one that is not ours. */
  private vectorTable(from: number): void {
    const { out } = this;
    const { at, page, other } = tableOf(from);
    out.gap();
    out.say("--- Vectors of mode 2: those of the four channels, and every other ---");
    out.gap();
    out.code(` ds ${dollar(at, 4)}-*,0`);
    out.add("equ", dollar(page), "twice, the address of other_vector", "by_other");
    out.code("by_vector");
    let next = 0;
    const others = (to: number) => {
      if (to > next) out.add("ds", `${to - next},by_other`);
      next = to + 2;
    };
    for (const [channel, vector] of [...VECTORS.entries()].sort(([, a], [, b]) => a - b)) {
      others(vector);
      out.add("dw", `channel${channel}`);
    }
    others(257);
    const channels = () => {
      for (const [channel, vector] of VECTORS.entries()) out.code(`channel${channel} ld a,${dollar(vector)}\n jp (ix)`);
    };
    const before = 1 + 4 * VECTORS.length <= page;
    if (before) channels();
    out.code(` ds ${dollar(other, 4)}-*,0\nother_vector ld a,$FF\n jp (ix)`);
    if (!before) channels();
  }

  protected period(test: PlannedTest, { element, timer }: Of<"period">): void {
    const { at, mask } = timer.flag;
    // 7 + 7 + 6 + 4 + 4 + 12
    const turn = this.turnOf(timer, 40, 9);
    const wanted = Math.round(timer.every / turn);
    const slack = slackOf(wanted);
    const [first, come, count, over, bad, good] = this.labels("first", "come", "count", "over", "bad", "good");
    const flag = `${this.from(at, timer.port)}\n and ${dollar(mask)}`;
    const until = (label: string, end: string) =>
      ` ld de,0\n${label} ${flag}\n jr nz,${end}\n inc de\n ld a,d\n or e\n jr nz,${label}\n${end}`;
    this.out.gap();
    this.out.say(`${timer.title}: turns of a loop of ${turn} cycles from one flag to the next, ${wanted} ± ${slack}.`);
    this.pokes(timer.start);
    this.clear(timer);
    this.out.code(until(first, come));
    this.clear(timer);
    this.out.code(until(count, over));
    this.within(test, element, wanted, slack, bad, good);
  }

  /** Tells DE where it is not what was wanted, so much more or less. */
  private within(test: PlannedTest, element: number, wanted: number, slack: number, bad: string, good: string): void {
    this.out.code(` ld hl,${dollar(-(wanted - slack), 4)}\n add hl,de\n jr nc,${bad} ; too few`);
    this.out.code(` ld hl,${dollar(-(wanted + slack + 1), 4)}\n add hl,de\n jr nc,${good}`);
    this.out.code(`${bad} ld a,d\n exx\n ld d,a\n exx\n ld a,e\n exx\n ld e,a\n exx`);
    this.tell(test, element, "G", wanted);
    this.out.code(good);
  }

  protected override counter(test: PlannedTest, { element, counter }: Of<"counter">): void {
    const { title, at, port, every, periods, bits } = counter;
    // 6 × 4 + 6 + 4 + 4 + 7 + 8 + 12
    const turn = this.turnOf(counter, 65, 15);
    const wanted = Math.round((periods * (every - this.cyclesOf(RELOAD))) / turn);
    const slack = slackOf(wanted);
    const [reload, high, low, next, over] = this.labels("reload", "high", "low", "next", "over");
    const [bad, good, changed] = this.labels("bad", "good", "changed");
    const { out } = this;
    const until = (label: string, condition: string) =>
      `${label} ${this.from(at, port)}\n ld b,a\n or h\n ld h,a ; bits that were 1\n ld a,b\n and l\n ld l,a ; bits that were never 0\n inc de\n ld a,d\n or e\n jr z,${over}\n bit 7,b\n jr ${condition},${label}`;
    out.gap();
    out.say(
      `${title}: it counts down again and again. Bit 7 rises as it begins anew: turns of a loop of ${turn} cycles over ${periods === 1 ? "one reload" : `${periods} reloads`}, ${wanted} ± ${slack}.`,
    );
    this.pokes(counter.start);
    out.code(` ld hl,$00FF\n ld de,0\n ld c,0\n${reload}`);
    out.code(until(high, "nz"));
    out.code(until(low, "z"));
    out.code(` inc c\n ld a,c\n dec a\n jr nz,${next}\n ld de,0 ; the first: from here on`);
    out.code(`${next} cp ${periods}\n jr nz,${reload}\n${over}`);
    if (bits !== undefined) {
      out.say("Every bit must have changed meanwhile.");
      out.code(` ld a,l\n cpl\n and h\n cp $FF\n jr z,${changed}\n exx\n ld d,0\n ld e,a\n exx`);
      this.tell(test, bits, "G", 0xff);
      out.code(changed);
    }
    this.within(test, element, wanted, slack, bad, good);
  }

  protected interrupt(test: PlannedTest, { element, timer, stack, response }: Of<"interrupt">): void {
    const { out } = this;
    const [masked, still, again, open, wait] = this.labels("masked", "still", "again", "open", "wait");
    const [come, right, counted, quiet, end] = this.labels("come", "right", "counted", "quiet", "end");
    const vector = response?.mode === 2 ? response.vector : undefined;
    const long = `ld de,${Math.ceil((timer.every * 1.5) / this.cyclesOf(WAIT_TURN))}`;
    const half = `ld de,${Math.floor(timer.every / 2 / this.cyclesOf(WAIT_TURN))}`;
    const turns = (label: string) => `${label} dec de\n ld a,d\n or e\n jr nz,${label}`;
    const to = (label: string) => ` ld ix,${label}\n ld sp,${dollar(stack, 4)}`;
    const told = " exx\n ld d,0\n ld e,a\n exx";
    out.gap();
    out.say(
      `${timer.title}: while interrupts are disabled none must come. Then ${DUE} are waited for; after each the timer is answered, and a third must not come at once. What the CPU stacks is never looked at.`,
    );
    if (response?.mode === 1 && response.handler === "memory") {
      const [first, second] = HANDLER as [number, number];
      out.code(` ld hl,(${dollar(MODE_1, 4)}) ; is JP (IX) there?\n ld a,l\n cp ${dollar(first)}\n jp nz,${end}`);
      out.code(` ld a,h\n cp ${dollar(second)}\n jp nz,${end} ; no: that was told`);
    }
    out.code(vector === undefined ? " im 1" : " ld a,high(by_vector)\n ld i,a\n im 2");
    this.pokes(timer.start);
    this.clear(timer);
    this.pokes(timer.interrupt!.enable);
    out.code(`${to(masked)}\n ${long}\n${turns(still)}\n ld c,0 ; so many have come\n jr ${again}`);
    out.code(`${masked} ld a,1\n${told}`);
    this.tell(test, element + 1, "G", 0);
    out.code(` jp ${quiet}`);
    out.code(`${again}\n${to(come)}\n ${long}\n${open} ei\n${turns(wait)}\n di\n jp ${counted}`);
    out.code(come);
    if (vector !== undefined) {
      out.code(` cp ${dollar(vector)} ; by its own vector?\n jr z,${right}\n${told}`);
      this.tell(test, element + 2, "G", vector);
      out.code(` jp ${quiet}\n${right}`);
    }
    out.code(" inc c");
    this.clear(timer);
    if (vector !== undefined) this.service();
    out.code(` ld a,c\n cp ${DUE}\n jp c,${again}\n jp nz,${counted}`);
    out.code(
      `${to(come)}\n ${half} ; half a period\n jp ${open}\n${counted} ld a,c\n cp ${DUE}\n jr z,${quiet}\n${told}`,
    );
    this.tell(test, element, "G", DUE);
    out.code(quiet);
    this.pokes(timer.interrupt!.disable);
    this.clear(timer);
    if (vector !== undefined) this.service();
    out.code(end);
  }

  /** Parts of the Z80's family watch for RETI (UM0081, “CTC Interrupt Servicing”); where it goes stands in the program. */
  private service(): void {
    const [back, served] = this.labels("back", "served");
    this.out.code(` ld sp,${back} ; the interrupt is over\n reti\n${back} dw ${served}\n${served}`);
  }
}
