import type { PlannedTest, Poke, Step, TimerStep } from "../plan/types.ts";
import { AGAIN_SECONDS, Dialect, elementSign, slackOf, TOLD, TOLD_FIRST } from "./dialect.ts";
import { dollar } from "./source.ts";

type Of<K extends Step["kind"]> = Extract<Step, { kind: K }>;

/** Bytes from one copy of the patterns to the next. */
const COPY = 16;

/**
 * The 6809 does everything in its registers: no stack, no byte of memory is relied on at any time. So a program in an EPROM
 * tests every byte, and a bad one cannot lead it astray.
 */
export class Dialect6809 extends Dialect {
  readonly cpu = "6809";
  protected readonly registers = [
    "No memory is used, nor a stack, so that nothing depends on what is being tested. What each register is for:",
    "  X  the address          Y  the patterns: 0,Y is what stands for 0, 1,Y its complement. Which of three copies",
    "                             of the patterns it points into says whether anything was found",
    "  S  findings so far      U  where a routine goes back to",
    "  DP the bank or block    A  what was read; B is free",
  ];

  protected names(): void {
    const { out, plan } = this;
    out.add("cpu", "6809");
    out.add("equ", dollar(plan.voice.status, 4), "port: status", "port_status");
    out.add("equ", dollar(plan.voice.data, 4), "port: data", "port_data");
    out.add("equ", dollar(plan.voice.ready), "status bit: it can take a character", "port_ready");
  }

  protected begin(): void {
    this.out.code("start orcc #$50 ; no interrupts");
  }

  protected pokes(pokes: readonly Poke[]): void {
    for (const { at, value, meaning } of pokes)
      this.out.code(` lda #${dollar(value)} ; ${meaning}\n sta >${dollar(at, 4)}`);
  }

  protected ready(): void {
    this.out.code(" ldy #patterns ; nothing found so far\n clra\n tfr a,dp");
  }

  protected speak(text: string): void {
    const back = this.label("said");
    this.out.code(` leax ${this.text(text)},pcr\n leau ${back},pcr ; where to go on\n lbra say\n${back}`);
  }

  protected verdict(test: PlannedTest): void {
    const { out } = this;
    const good = this.label("good");
    const done = this.label("done");
    out.gap();
    out.code(
      ` cmpy #patterns+${COPY} ; the second copy: this test found something\n bne ${good}\n leay ${COPY},y ; the third: an earlier one did`,
    );
    this.speak(`${test.letter} BAD\r\n`);
    out.code(` bra ${done}\n${good}`);
    this.speak(`${test.letter} GOOD\r\n`);
    out.code(done);
  }

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

  private onward(next: string): void {
    this.out.code(` lda 7,s ; is there another?\n leas 8,s\n tsta\n bne ${next}`);
  }

  protected wait(seconds: number): void {
    // 8 cycles a turn of the inner loop, 65,536 turns of it, and 10 cycles outside.
    const cycles = seconds * this.plan.hertz;
    const outer = Math.max(1, Math.min(256, Math.ceil(cycles / (8 * 65_536))));
    const inner = Math.max(1, Math.min(65_535, Math.round(cycles / outer / 8)));
    const again = this.label("again");
    const wait = this.label("wait");
    this.out.gap();
    this.out.say(`Wait ${seconds} s.`);
    this.out.code(
      ` ldb #${outer & 0xff}\n${again} ldx #${inner}\n${wait} leax -1,x\n bne ${wait}\n decb\n bne ${again}`,
    );
  }

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

  /** Tells S as a number, with what was wanted, if that is known. */
  private tell(test: PlannedTest, element: number, letter: string, wanted: number | undefined): void {
    const at = this.label("at");
    this.usesNumbers = true;
    this.out.code(` leau ${at},pcr\n lbra ${wanted === undefined ? "number" : "found_number"}`);
    const flag = wanted === undefined ? 0 : 1;
    this.out.code(`${at} fcb "${test.letter}","${elementSign(element)}","${letter}",${flag}`);
    if (wanted !== undefined) this.out.code(` fdb ${dollar(wanted, 4)}`);
  }

  protected period(test: PlannedTest, { element, timer }: Of<"period">): void {
    // 5 + 2 + 3 + 5 + 3 cycles a turn.
    const wanted = Math.round(timer.every / 18);
    const slack = slackOf(wanted);
    const [first, come, count, over, bad, good] = this.labels("first", "come", "count", "over", "bad", "good");
    const flag = `lda >${dollar(timer.flag.at, 4)}\n anda #${dollar(timer.flag.mask)}`;
    this.out.gap();
    this.out.say(`${timer.title}: turns of a loop of 18 cycles from one flag to the next, ${wanted} ± ${slack}.`);
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

  private clear({ clear }: TimerStep): void {
    this.pokes(clear.pokes);
    if (clear.read !== undefined) this.out.code(` lda >${dollar(clear.read, 4)} ; clears the flag`);
  }

  protected override interrupt(test: PlannedTest, { element, timer, stack }: Of<"interrupt">): void {
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

  protected echo(test: PlannedTest, { element, voice, mask, marks, rates }: Of<"echo">): void {
    const table = this.table(marks);
    const [echo, next, send, ready, full, wait, come, wrong, over] = this.labels(
      "echo",
      "next",
      "send",
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
      this.out.code(` lda #${index} ; number of the rate\n tfr a,dp\n lbra ${echo}\n${backs[index]}`);
    }
    const status = (bit: number) => `lda >${dollar(voice.status, 4)}\n bita #${dollar(bit)}`;
    const data = dollar(voice.data, 4);
    this.out.gap();
    this.out.say("Sends each byte and waits for it.");
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

  /** Tells a mark that is not there, and goes on. */
  private markFound(test: PlannedTest, element: number, shown: boolean, back: string): void {
    const at = this.label("at");
    this.out.code(` leau ${at},pcr\n lbra found_mark`);
    this.out.code(`${at} fcb "${test.letter}","${elementSign(element)}",$FF,${shown ? 1 : 0}\n lbra ${back}`);
  }

  protected end(): void {
    const { out } = this;
    out.gap();
    out.code(" cmpy #patterns\n lbne some_bad\nall_good");
    this.speak("END GOOD\r\n");
    this.wait(AGAIN_SECONDS);
    out.code(" lbra all_good ; says it again and again, until you switch off\nsome_bad");
    this.speak("END BAD\r\n");
    this.wait(AGAIN_SECONDS);
    out.code(" lbra some_bad");
  }

  protected routines(): void {
    const { out } = this;
    out.gap();
    out.say("--- Says the text at X up to a zero byte, and goes on at U ---");
    out.gap();
    out.code(`say lda >port_status
 anda #port_ready
 beq say
 lda ,x+
 beq .done
 sta >port_data
 bra say
.done jmp ,u`);
    this.finding();
    if (this.usesNumbers) this.number();
    if (this.plan.interrupts) out.code("\non_interrupt jmp ,u");
  }

  /** Puts Y into the second copy of the patterns: this test has found something. */
  private note(): void {
    this.out.code(` cmpy #patterns+${COPY}
 blo .first
 cmpy #patterns+${2 * COPY}
 blo .noted ; it stands there already
 leay -${COPY},y
 bra .noted
.first leay ${COPY},y
.noted`);
  }

  private finding(): void {
    const { out } = this;
    out.gap();
    out.say("--- Tells a finding ---");
    out.say(
      "In: A what was read, X address + 0 or 1, DP bank or block, U four bytes (test, element, which pattern, with a bank or not) and behind them the way back. Without a stack there are no subroutines, so each character is sent by lines of its own.",
    );
    out.gap();
    out.code(`found leas 1,s ; one more
 exg d,s ; the number into D; S keeps A`);
    out.code(` cmpd #${TOLD_FIRST + 1}\n blo .told`);
    for (const each of TOLD) out.code(` cmpd #${each}\n beq .told`);
    out.code(" exg d,s ; not this one");
    this.note();
    out.code(" jmp 4,u");
    out.code(".told exg d,s");
    out.code("found_mark tfr a,b ; B keeps what was read");
    this.note();
    this.begun();
    this.literal(" G");
    this.byte("tfr b,a");
    this.literal(" W");
    out.code(` ldb 2,u ; FF: the mark was wanted
 bmi .mark
 ldb b,y
 bra .wanted
.mark ldb 6,s
.wanted`);
    this.byte("tfr b,a");
    this.literal(" A");
    this.byte("tfr x,d ; the high byte is in A");
    this.byte("tfr x,d\n exg a,b");
    out.code(" tst 3,u\n beq .line");
    this.literal(" N");
    this.byte("tfr dp,a");
    out.code(".line");
    this.literal("\r\n");
    out.code(" jmp 4,u");
  }

  private number(): void {
    const { out } = this;
    out.gap();
    out.say("--- Tells a number ---");
    out.say("In: S the number, U test, element, its letter, and whether the word behind that was wanted instead.");
    out.gap();
    out.code("found_number");
    this.note();
    out.code("number");
    this.begun();
    this.literal(" ");
    this.send("lda 2,u");
    this.byte("tfr s,d");
    this.byte("tfr s,d\n exg a,b");
    out.code(" tst 3,u\n beq .line");
    this.literal(" W");
    this.byte("lda 4,u");
    this.byte("lda 5,u");
    out.code(" leau 2,u ; behind the word\n.line");
    this.literal("\r\n");
    out.code(" jmp 4,u");
  }

  private begun(): void {
    this.send("lda ,u");
    this.send("lda 1,u");
  }

  private literal(text: string): void {
    for (const sign of text) this.send(`lda #${sign < " " ? sign.charCodeAt(0) : `'${sign}'`}`);
  }

  /** Waits for the port, then sends what `load` puts into A. */
  private send(load: string): void {
    const wait = this.label(".w");
    this.out.code(`${wait} lda >port_status\n anda #port_ready\n beq ${wait}\n ${load}\n sta >port_data`);
  }

  /** Sends a byte as two hex digits. The two additions with DAA turn 0 to 15 into the character. */
  private byte(load: string): void {
    const digit = "adda #$90\n daa\n adca #$40\n daa";
    this.send(`${load}\n lsra\n lsra\n lsra\n lsra\n ${digit}`);
    this.send(`${load}\n anda #15\n ${digit}`);
  }

  protected data(): void {
    const { out } = this;
    out.gap();
    out.say("--- Patterns: three copies, see Y above ---");
    out.gap();
    out.code(` align ${COPY}\npatterns`);
    for (let copy = 0; copy < 3; copy++)
      out.add(
        "fcb",
        [0x00, 0xff, 0x55, 0xaa, 0x33, 0xcc, 0x0f, 0xf0, 0, 0, 0, 0, 0, 0, 0, 0].map((each) => dollar(each)).join(","),
      );
    this.lists("fdb", "fcb");
  }

  protected vectors(at: number): void {
    const { out, plan } = this;
    out.gap();
    out.say("--- Vectors: everything starts anew ---");
    out.gap();
    out.add("org", dollar(at, 4));
    out.add("fdb", `start,start,start,start,${plan.interrupts ? "on_interrupt" : "start"},start,start,start`);
  }
}
