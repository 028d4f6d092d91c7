import type { PlannedTest, Poke, Step, TimerStep } from "../plan/types.ts";
import type { Stretch } from "../types.ts";
import { AGAIN_SECONDS, Dialect, elementSign, slackOf, TOLD, TOLD_FIRST } from "./dialect.ts";
import { dollar } from "./source.ts";

type Of<K extends Step["kind"]> = Extract<Step, { kind: K }>;

/** What is kept in the zero page, by byte. */
const CELLS = {
  pointer: [0, "address, low and high"],
  zero: [2, "what stands for 0"],
  one: [3, "its complement"],
  got: [4, "what was read"],
  site: [5, "address of what is told of a finding, low and high"],
  count: [7, "findings of this element, or a sum, low and high"],
  view: [9, "bank or block"],
  page: [10, "where a finding was: page, and byte of it"],
  index: [11, ""],
  list: [12, "address in a list of marks, low and high"],
  stop: [12, "or where a page ends downwards"],
  here: [14, "1: this test found something"],
  any: [15, "1: any test did"],
} as const;
type Cell = keyof typeof CELLS;

/**
 * The 6502 has no register that holds an address, so a program needs a few bytes of the zero page. That page is tested first, by
 * registers alone; then all else, and once more with those bytes elsewhere, so that every byte of main memory is tested with every
 * other. Nothing is stacked: page 1 is memory like the rest.
 */
export class Dialect6502 extends Dialect {
  readonly cpu = "6502";
  protected readonly registers = [
    "The zero page is tested first, by registers alone. After that a few bytes of it hold what the registers can't; they are written anew for each page, so that a byte that changes by itself cannot lead the program astray. No stack is used. What each register is for:",
    "  X  the page             Y  the byte of it",
    "  S  which pattern, counted in twos       A  what was read",
  ];
  /** Where the bytes of the zero page are now; undefined until that page is proved good. */
  private work: number | undefined;
  private readonly works: number[] = [];
  private usesStuck = false;

  protected names(): void {
    const { out, plan } = this;
    out.add("cpu", "6502");
    out.add("equ", dollar(plan.voice.status, 4), "port: status", "port_status");
    out.add("equ", dollar(plan.voice.data, 4), "port: data", "port_data");
    out.add("equ", dollar(plan.voice.ready), "status bit: it can take a character", "port_ready");
    for (const work of new Set(plan.tests.flatMap((each) => each.work ?? []))) {
      this.works.push(work);
      const number = this.works.length;
      out.gap();
      out.say(number === 1 ? "Bytes of the zero page" : "The same elsewhere, while the first ones are tested");
      for (const [name, [offset, comment]] of Object.entries(CELLS))
        out.add("equ", dollar(work + offset), comment, `${name}_${number}`);
    }
  }

  /** A byte of the zero page, by name. */
  private z(cell: Cell): string {
    return `${cell}_${this.works.indexOf(this.work!) + 1}`;
  }

  protected begin(): void {
    this.out.code("start sei ; no interrupts\n cld ; binary, not decimal");
  }

  protected pokes(pokes: readonly Poke[]): void {
    for (const { at, value, meaning } of pokes)
      this.out.code(` lda #${dollar(value)} ; ${meaning}\n sta ${dollar(at, 4)}`);
  }

  protected ready(): void {}

  protected speak(text: string): void {
    const next = this.label("say");
    const done = this.label("said");
    this.out.code(` ldx #0\n${next} lda port_status\n and #port_ready\n beq ${next}`);
    this.out.code(` lda ${this.text(text)},x\n beq ${done}\n sta port_data\n inx\n bne ${next}\n${done}`);
  }

  protected override open(test: PlannedTest): void {
    super.open(test);
    const before = this.work;
    this.work = test.work;
    if (test.work === undefined) return;
    if (before === undefined) this.out.code(` lda #0 ; nothing found so far\n sta ${this.z("any")}`);
    else if (before !== test.work) this.out.code(` lda any_${this.works.indexOf(before) + 1}\n sta ${this.z("any")}`);
    this.out.code(` lda #0\n sta ${this.z("here")}`);
  }

  protected verdict(test: PlannedTest): void {
    const { out } = this;
    out.gap();
    if (this.work === undefined) {
      // A bad zero page has ended the program before.
      this.speak(`${test.letter} GOOD\r\n`);
      return;
    }
    const good = this.label("good");
    const done = this.label("done");
    out.code(` lda ${this.z("here")} ; has this test found something?\n beq ${good}`);
    this.speak(`${test.letter} BAD\r\n`);
    out.code(` jmp ${done}\n${good}`);
    this.speak(`${test.letter} GOOD\r\n`);
    out.code(done);
  }

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

  private pages(test: PlannedTest, { space, march, backgrounds, select, seconds }: Of<"march">): void {
    const { out } = this;
    const turn = this.label("turn");
    out.say("One turn for each pattern: S counts them in twos.");
    out.code(` ldx #0\n${turn} txs`);
    for (const [index, element] of march.elements.entries()) {
      const number = index + 1;
      const { down, order } = this.order(element, space.stretches.flatMap(inPages));
      const sites: string[] = [];
      const reads = element.operations.some((each) => each.kind === "read");
      if (element.delay) this.wait(seconds);
      this.heading(element, number);
      if (reads) out.code(` lda #0 ; findings of this element\n sta ${this.z("count")}\n sta ${this.z("count")}+1`);
      for (const { from, to, views } of order) {
        const page = this.label("page");
        const cell = this.label("cell");
        const view = this.label("view");
        const step = down ? "dec" : "inc";
        if (views && select)
          out.code(
            ` lda #${down ? views.last : views.first}\n sta ${this.z("view")}\n${view} lda ${this.z("view")}\n sta ${dollar(select.at, 4)} ; show it`,
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
        for (const { read, value } of this.cells(element)) {
          const pattern = this.z(value === 0 ? "zero" : "one");
          if (read) {
            const site = this.label("site");
            const wrong = this.label("bad");
            out.code(` lda (${this.z("pointer")}),y\n cmp ${pattern} ; r${value}\n bne ${wrong}\n${site}`);
            sites.push(this.site(wrong, site, test, number, value, views !== undefined));
          } else out.code(` lda ${pattern}\n sta (${this.z("pointer")}),y ; w${value}`);
        }
        if (down) out.code(` cpy ${several && first > 0 ? this.z("stop") : `#${dollar(first)}`}\n bne ${cell}`);
        else out.code(` iny\n${end === 0 ? "" : ` cpy #${dollar(end)}\n`} bne ${cell}`);
        if (several) {
          const last = ((down ? from : to) >> 8) + (down ? -1 : 1);
          out.code(` ${down ? "dex" : "inx"}\n cpx #${dollar(last & 0xff)}\n bne ${page}`);
        }
        if (views && select) {
          const last = this.label("last");
          out.code(
            ` ${step} ${this.z("view")}\n lda ${this.z("view")}\n cmp #${dollar((down ? views.first - 1 : views.last + 1) & 0xff)}\n beq ${last}\n jmp ${view}\n${last}`,
          );
        }
        if (sites.length > 0) {
          const past = this.label("past");
          out.code(` jmp ${past}`);
          for (const each of sites.splice(0)) out.code(each);
          out.code(past);
        }
      }
      if (reads) this.tally(test, number);
    }
    const done = this.label("done");
    out.gap();
    out.code(
      ` tsx ; the next pattern\n inx\n inx\n cpx #${2 * backgrounds.length}\n beq ${done}\n jmp ${turn}\n${done}`,
    );
  }

  /** Writes pointer and patterns anew, from X and S. */
  private refresh(): void {
    this.out.code(` stx ${this.z("pointer")}+1\n stx ${this.z("page")}\n lda #0\n sta ${this.z("pointer")}`);
    this.out.code(
      ` tsx\n lda patterns,x\n sta ${this.z("zero")}\n lda patterns+1,x\n sta ${this.z("one")}\n ldx ${this.z("page")}`,
    );
  }

  /** What is done at a wrong byte: tell it, go on. Test, element, whose pattern was wanted, whether a view is shown, the way back. */
  private site(wrong: string, back: string, test: PlannedTest, number: number, value: number, view: boolean): string {
    return this.told(wrong, "found", `"${test.letter}","${elementSign(number)}",${value},${view ? 1 : 0}`, back);
  }

  private told(wrong: string, routine: string, data: string, back: string): string {
    const at = this.label("at");
    const routineHere = `${routine}_${this.works.indexOf(this.work!) + 1}`;
    return `${wrong} sta ${this.z("got")}\n lda #low(${at})\n sta ${this.z("site")}\n lda #high(${at})\n sta ${this.z("site")}+1\n jmp ${routineHere}\n${at} fcb ${data}\n dw ${back}`;
  }

  private tally(test: PlannedTest, number: number): void {
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
  private mark(latched: boolean, table: string): string {
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

  private onward(next: string): void {
    const list = this.z("list");
    const same = this.label("same");
    const done = this.label("done");
    this.out.code(
      ` ldy #7\n lda (${list}),y ; is there another?\n beq ${done}\n lda ${list}\n clc\n adc #8\n sta ${list}`,
    );
    this.out.code(` bcc ${same}\n inc ${list}+1\n${same} jmp ${next}\n${done}`);
  }

  protected wait(seconds: number): void {
    // 1,279 cycles a turn of Y, and 5 more for each turn of X; A counts those.
    const turns = (seconds * this.plan.hertz) / 1284;
    const outer = Math.max(1, Math.min(255, Math.ceil(turns / 256)));
    const inner = Math.max(1, Math.min(255, Math.round(turns / outer)));
    const again = this.label("again");
    const middle = this.label("middle");
    const wait = this.label("wait");
    this.out.gap();
    this.out.say(`Wait ${seconds} s.`);
    this.out.code(
      ` lda #${outer}\n${again} ldx #${inner}\n${middle} ldy #0\n${wait} dey\n bne ${wait}\n dex\n bne ${middle}`,
    );
    this.out.code(` sec\n sbc #1\n bne ${again}`);
  }

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

  /** Tells `count` as a number, with what was wanted, if that is known. */
  private tell(test: PlannedTest, element: number, letter: string, wanted: number | undefined, back: string): void {
    this.usesNumbers = true;
    const flag = wanted === undefined ? 0 : 1;
    const data = `"${test.letter}","${elementSign(element)}","${letter}",${flag}`;
    this.out.code(this.told("", wanted === undefined ? "number" : "found_number", data, back));
    if (wanted !== undefined) this.out.code(` fcb ${dollar(wanted >> 8)},${dollar(wanted & 0xff)}`);
  }

  protected period(test: PlannedTest, { element, timer }: Of<"period">): void {
    const flag = ` lda ${dollar(timer.flag.at, 4)}\n and #${dollar(timer.flag.mask)}`;
    // 4 + 2 + 2 + 2 + 3 cycles a turn, and 4 more each 256th.
    const wanted = Math.round(timer.every / (13 + 4 / 256));
    const slack = slackOf(wanted);
    const [first, come, count, over, bad, good] = this.labels("first", "come", "count", "over", "bad", "good");
    const total = this.z("count");
    const until = (label: string, end: string) =>
      ` ldx #0\n ldy #0\n jmp ${label}\n align 32 ; in one page, where branches take no cycle more\n${label}${flag}\n bne ${end}\n inx\n bne ${label}\n iny\n bne ${label}\n${end}`;
    this.out.gap();
    this.out.say(`${timer.title}: turns of a loop of 13 cycles from one flag to the next, ${wanted} ± ${slack}.`);
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

  private clear({ clear }: TimerStep): void {
    this.pokes(clear.pokes);
    if (clear.read !== undefined) this.out.code(` lda ${dollar(clear.read, 4)} ; clears the flag`);
  }

  protected override interrupt(test: PlannedTest, { element, timer }: Of<"interrupt">): void {
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

  protected echo(test: PlannedTest, { element, voice, mask, marks, rates }: Of<"echo">): void {
    const [echo, next, ready, full, wait, come, wrong, over] = this.labels(
      "echo",
      "next",
      "ready",
      "full",
      "wait",
      "come",
      "wrong",
      "over",
    );
    const backs = rates.map(() => this.label("back"));
    for (const [index, { rate, pokes }] of rates.entries()) {
      this.out.gap();
      this.out.say(`${rate} bit/s.`);
      this.pokes(pokes);
      this.out.code(` lda #${index} ; number of the rate\n sta ${this.z("view")}\n jmp ${echo}\n${backs[index]}`);
    }
    const status = (bit: number) => `lda ${dollar(voice.status, 4)}\n and #${dollar(bit)}`;
    const data = dollar(voice.data, 4);
    const turns = (label: string) => `inx\n bne ${label}\n iny\n bne ${label}`;
    const register = ` ldx #${dollar(voice.data >> 8)}\n ldy #${dollar(voice.data & 0xff)}`;
    this.out.gap();
    this.out.say("Sends each byte and waits for it.");
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

  /** Tells a mark that is not there, and goes on. */
  private markFound(test: PlannedTest, element: number, shown: boolean, back: string): void {
    this.out.code(this.told("", "found_mark", `"${test.letter}","${elementSign(element)}",0,${shown ? 1 : 0}`, back));
  }

  protected end(): void {
    const { out } = this;
    out.gap();
    if (this.work !== undefined) out.code(` lda ${this.z("any")} ; has any test?\n beq all_good\n jmp some_bad`);
    out.code("all_good");
    this.speak("END GOOD\r\n");
    this.wait(AGAIN_SECONDS);
    out.code(" jmp all_good ; says it again and again, until you switch off\nsome_bad");
    this.speak("END BAD\r\n");
    this.wait(AGAIN_SECONDS);
    out.code(" jmp some_bad");
  }

  protected routines(): void {
    if (this.usesStuck) this.stuck();
    for (const work of this.works) {
      this.work = work;
      this.finding();
      if (this.usesNumbers) this.number();
    }
    if (this.plan.interrupts) this.out.code("\non_interrupt jmp (pointer_1)");
  }

  /** The zero page is bad: told by registers alone, and then nothing else can be done. */
  private stuck(): void {
    const { out } = this;
    out.gap();
    out.say("--- The zero page is bad: tells it, and ends ---");
    out.say(
      "In: X what was read, Y the pattern that was wanted, S the address. Nothing else can be tested before this is put right.",
    );
    out.gap();
    out.code("stuck");
    this.literal(" G");
    this.byte("txa");
    this.literal(" W");
    this.byte("lda patterns,y");
    this.literal(" A00");
    out.code(" tsx");
    this.byte("txa");
    this.literal("\r\n");
    this.speak(`${this.plan.tests[0]!.letter} BAD\r\n`);
    out.code(" jmp some_bad");
  }

  private finding(): void {
    const { out } = this;
    const number = this.works.indexOf(this.work!) + 1;
    const count = this.z("count");
    out.gap();
    out.say("--- Tells a finding ---");
    out.say(
      "In: got what was read, X page and Y byte of it, site six bytes: test, element, which pattern, with a bank or not, the way back. Without a stack there are no subroutines, so each character is sent by lines of its own.",
    );
    out.gap();
    out.code(`found_${number} stx ${this.z("page")}\n sty ${this.z("index")}`);
    this.note();
    out.code(` inc ${count} ; one more\n bne .few\n inc ${count}+1\n.few lda ${count}+1\n bne .many`);
    out.code(` lda ${count}\n cmp #${TOLD_FIRST + 1}\n bcc .told`);
    for (const each of TOLD.filter((told) => told < 256)) out.code(` cmp #${each}\n beq .told`);
    out.code(` bne .silent\n.many ldx ${count}\n bne .silent`);
    for (const each of TOLD.filter((told) => told >= 256)) out.code(` cmp #${each / 256}\n beq .told`);
    out.code(`.silent jmp back_${number} ; not this one\n.told jmp told_${number}`);
    out.code(`found_mark_${number} stx ${this.z("page")}\n sty ${this.z("index")}`);
    this.note();
    out.code(`told_${number}`);
    this.begun();
    this.literal(" G");
    this.byte(`lda ${this.z("got")}`);
    this.literal(" W");
    out.code(` ldy #2\n lda (${this.z("site")}),y\n tay`);
    this.byte(`lda ${this.z("zero")},y`);
    this.literal(" A");
    this.byte(`lda ${this.z("page")}`);
    this.byte(`lda ${this.z("index")}`);
    out.code(` ldy #3\n lda (${this.z("site")}),y\n beq .line`);
    this.literal(" N");
    this.byte(`lda ${this.z("view")}`);
    out.code(".line");
    this.literal("\r\n");
    out.code(`back_${number} ldy #4`);
    this.back();
  }

  private number(): void {
    const { out } = this;
    const number = this.works.indexOf(this.work!) + 1;
    out.gap();
    out.say("--- Tells a number ---");
    out.say(
      "In: count the number, site: test, element, its letter, whether a word was wanted instead, the way back, that word.",
    );
    out.gap();
    out.code(`found_number_${number}`);
    this.note();
    out.code(`number_${number}`);
    this.begun();
    this.literal(" ");
    this.send(`ldy #2\n lda (${this.z("site")}),y`);
    this.byte(`lda ${this.z("count")}+1`);
    this.byte(`lda ${this.z("count")}`);
    out.code(` ldy #3\n lda (${this.z("site")}),y\n beq .line`);
    this.literal(" W");
    this.byte(`ldy #6\n lda (${this.z("site")}),y`);
    this.byte(`ldy #7\n lda (${this.z("site")}),y`);
    out.code(".line");
    this.literal("\r\n");
    out.code(" ldy #4");
    this.back();
  }

  private note(): void {
    this.out.code(` lda #1\n sta ${this.z("here")}\n sta ${this.z("any")}`);
  }

  /** Goes back to where the bytes behind `site` say, X and Y as they were. */
  private back(): void {
    const site = this.z("site");
    this.out.code(
      ` lda (${site}),y\n tax\n iny\n lda (${site}),y\n sta ${site}+1\n stx ${site}\n ldx ${this.z("page")}\n ldy ${this.z("index")}\n jmp (${site})`,
    );
  }

  private begun(): void {
    this.send(`ldy #0\n lda (${this.z("site")}),y`);
    this.send(`ldy #1\n lda (${this.z("site")}),y`);
  }

  private literal(text: string): void {
    for (const sign of text) this.out.code(this.sent(`lda #${sign < " " ? sign.charCodeAt(0) : `'${sign}'`}`));
  }

  private send(load: string): void {
    this.out.code(this.sent(load));
  }

  /** Waits for the port, then sends what `load` puts into A. */
  private sent(load: string): string {
    const wait = this.label(".w");
    return `${wait} lda port_status\n and #port_ready\n beq ${wait}\n ${load}\n sta port_data`;
  }

  /** Sends a byte as two hex digits. */
  private byte(load: string): void {
    for (const high of [true, false]) {
      const digit = this.label(".d");
      const nibble = high ? "lsr a\n lsr a\n lsr a\n lsr a" : "and #15";
      this.send(
        `${load}\n ${nibble}\n ora #$30\n cmp #$3A\n bcc ${digit}\n adc #6 ; and the carry: 7 from 9 to A\n${digit}`,
      );
    }
  }

  protected data(): void {
    const { out } = this;
    out.gap();
    out.say("--- Patterns with their complements, lists of marks, texts ---");
    out.gap();
    out.add("fcb", "$00,$FF,$55,$AA,$33,$CC,$0F,$F0", "", "patterns");
    this.lists("dw", "fcb");
  }

  protected vectors(at: number): void {
    const { out, plan } = this;
    out.gap();
    out.say("--- Vectors: everything starts anew ---");
    out.gap();
    out.add("org", dollar(at, 4));
    out.add("dw", `start,start,${plan.interrupts ? "on_interrupt" : "start"}`);
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
