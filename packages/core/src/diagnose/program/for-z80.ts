import type { PlannedTest, Poke, Step, TimerStep } from "../plan/types.ts";
import { AGAIN_SECONDS, Dialect, elementSign, slackOf, TOLD, TOLD_FIRST } from "./dialect.ts";
import { dollar } from "./source.ts";

type Of<K extends Step["kind"]> = Extract<Step, { kind: K }>;

/**
 * The Z80 has registers enough for everything: no stack, no byte of memory is relied on at any time. So a program in an EPROM
 * tests every byte, and a bad one cannot lead it astray.
 */
export class DialectZ80 extends Dialect {
  readonly cpu = "Z80";
  protected readonly registers = [
    "No memory is used, nor a stack, so that nothing depends on what is being tested. What each register is for:",
    "  HL  the address, DE where it ends    B   what stands for 0, C its complement; A what was read",
    "  IX  where a routine goes back to     IY  the list of marks",
    "  DE' findings of this element         B'  what was read, C' the bank or block",
    "  H'  1: this test found something     L'  1: any test did",
  ];

  protected names(): void {
    const { out, plan } = this;
    const { voice } = plan;
    const digits = voice.ports ? 2 : 4;
    out.add("cpu", "Z80");
    out.add("equ", dollar(voice.status, digits), "port: status", "port_status");
    out.add("equ", dollar(voice.data, digits), "port: data", "port_data");
    out.add("equ", dollar(voice.ready), "status bit: it can take a character", "port_ready");
  }

  protected begin(): void {
    this.out.code("start di ; no interrupts");
  }

  protected pokes(pokes: readonly Poke[]): void {
    for (const { at, port, value, meaning } of pokes)
      this.out.code(
        ` ld a,${dollar(value)} ; ${meaning}\n ${port ? `out (${dollar(at, 2)}),a` : `ld (${dollar(at, 4)}),a`}`,
      );
  }

  protected ready(): void {
    this.out.code(" exx\n ld bc,0\n ld hl,0 ; nothing found so far\n exx");
  }

  protected speak(text: string): void {
    const back = this.label("said");
    this.out.code(` ld hl,${this.text(text)}\n ld ix,${back} ; where to go on\n jp say\n${back}`);
  }

  protected verdict(test: PlannedTest): void {
    const { out } = this;
    const good = this.label("good");
    const done = this.label("done");
    out.gap();
    out.code(` exx\n ld a,h ; has this test found something?\n ld h,0\n exx\n or a\n jp z,${good}`);
    this.speak(`${test.letter} BAD\r\n`);
    out.code(` jp ${done}\n${good}`);
    this.speak(`${test.letter} GOOD\r\n`);
    out.code(done);
  }

  protected march(test: PlannedTest, { space, march, backgrounds, select, seconds }: Of<"march">): void {
    const { out } = this;
    const turn = this.label("turn");
    const done = this.label("done");
    out.say("One turn for each pattern.");
    out.code(` ld b,${dollar(backgrounds[0]!)}\n${turn} ld a,b\n cpl\n ld c,a ; the complement`);
    for (const [index, element] of march.elements.entries()) {
      const number = index + 1;
      const { down, order } = this.order(element, space.stretches);
      const cells = this.cells(element);
      const sites: string[] = [];
      const reads = cells.some((each) => each.read);
      if (element.delay) this.wait(seconds);
      this.heading(element, number);
      if (reads) out.code(" exx\n ld de,0 ; findings of this element\n exx");
      for (const { from, to, views } of order) {
        const cell = this.label("cell");
        const view = this.label("view");
        if (views && select) {
          out.code(` ld a,${down ? views.last : views.first}`);
          out.code(
            `${view} ${select.port ? `out (${dollar(select.at, 2)}),a` : `ld (${dollar(select.at, 4)}),a`} ; show it\n exx\n ld c,a\n exx`,
          );
        }
        const past = (to + 1) & 0xffff;
        out.code(` ld hl,${dollar(down ? past : from, 4)}${down ? " ; one above the last" : ""}`);
        out.code(` ld de,${dollar(down ? from : past, 4)}\n${cell}`);
        if (down) out.code(" dec hl");
        for (const { read, value } of cells) {
          const pattern = value === 0 ? "b" : "c";
          if (read) {
            const site = this.label("site");
            const wrong = this.label("bad");
            out.code(` ld a,(hl)\n cp ${pattern} ; r${value}\n jr nz,${wrong}\n${site}`);
            sites.push(this.site(wrong, site, test, number, value, views !== undefined));
          } else out.code(` ld (hl),${pattern} ; w${value}`);
        }
        if (!down) out.code(" inc hl");
        out.code(` ld a,l\n cp e\n jr nz,${cell}\n ld a,h\n cp d\n jr nz,${cell}`);
        if (views && select)
          out.code(
            ` exx\n ld a,c\n exx\n ${down ? "dec" : "inc"} a\n cp ${dollar((down ? views.first - 1 : views.last + 1) & 0xff)}\n jr nz,${view}`,
          );
        if (sites.length > 0) {
          const behind = this.label("past");
          out.code(` jp ${behind}`);
          for (const each of sites.splice(0)) out.code(each);
          out.code(behind);
        }
      }
      if (reads) this.tally(test, number);
    }
    out.gap();
    if (backgrounds.length > 1) {
      const find = this.label("find");
      out.code(` ld a,b\n cp ${dollar(backgrounds.at(-1)!)} ; the last pattern?\n jp z,${done}`);
      out.code(
        ` ld hl,patterns\n${find} ld a,(hl)\n inc hl\n cp b\n jr nz,${find}\n ld b,(hl) ; the next\n jp ${turn}`,
      );
      out.code(done);
    }
  }

  /** What is done at a wrong byte: tell it, go on. Test, element, whose pattern was wanted, and whether a view is shown. */
  private site(wrong: string, back: string, test: PlannedTest, number: number, value: number, view: boolean): string {
    const at = this.label("at");
    const data = `"${test.letter}","${elementSign(number)}",${value},${view ? 1 : 0}`;
    return `${wrong} ld ix,${at}\n jp found\n${at} db ${data}\n jp ${back}`;
  }

  private tally(test: PlannedTest, number: number): void {
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

  private onward(next: string): void {
    this.out.code(` ld a,(iy+7) ; is there another?\n ld de,8\n add iy,de\n or a\n jp nz,${next}`);
  }

  protected wait(seconds: number): void {
    // 26 cycles a turn of the inner loop (6 + 4 + 4 + 12), 65,535 turns of it at most.
    const cycles = seconds * this.plan.hertz;
    const outer = Math.max(1, Math.min(256, Math.ceil(cycles / (26 * 65_535))));
    const inner = Math.max(1, Math.min(65_535, Math.round(cycles / outer / 26)));
    const again = this.label("again");
    const wait = this.label("wait");
    this.out.gap();
    this.out.say(`Wait ${seconds} s.`);
    this.out.code(
      ` ld l,${dollar(outer & 0xff)}\n${again} ld de,${inner}\n${wait} dec de\n ld a,d\n or e\n jr nz,${wait}\n dec l\n jr nz,${again}`,
    );
  }

  protected sum(test: PlannedTest, step: Of<"sum">): void {
    const [next, carry, good, wrong] = this.labels("byte", "carry", "right", "wrong");
    const { past, wanted } = this.sumOf(step);
    this.out.gap();
    this.out.say(`The sum of all bytes of ${step.title}.`);
    this.out.code(
      ` ld hl,${dollar(step.from, 4)}\n ld bc,0\n${next} ld a,(hl)\n add a,c\n ld c,a\n jr nc,${carry}\n inc b\n${carry} inc hl`,
    );
    this.out.code(` ld a,l\n cp low(${past})\n jr nz,${next}\n ld a,h\n cp high(${past})\n jr nz,${next}`);
    this.out.code(" ld a,b\n exx\n ld d,a\n exx\n ld a,c\n exx\n ld e,a\n exx");
    if (wanted !== undefined)
      this.out.code(
        ` ld a,b\n cp ${dollar(wanted >> 8)}\n jr nz,${wrong}\n ld a,c\n cp ${dollar(wanted & 0xff)}\n jr z,${good}\n${wrong}`,
      );
    this.tell(test, step.element, "G", wanted);
    this.out.code(good);
  }

  /** Tells DE' as a number, with what was wanted, if that is known. */
  private tell(test: PlannedTest, element: number, letter: string, wanted: number | undefined): void {
    const at = this.label("at");
    this.usesNumbers = true;
    this.out.code(` ld ix,${at}\n jp ${wanted === undefined ? "number" : "found_number"}`);
    const flag = wanted === undefined ? "0" : `1,${dollar(wanted >> 8)},${dollar(wanted & 0xff)}`;
    this.out.code(`${at} db "${test.letter}","${elementSign(element)}","${letter}",${flag}`);
  }

  /** Reads a register into A. */
  private from(at: number, port: boolean): string {
    return port ? `in a,(${dollar(at, 2)})` : `ld a,(${dollar(at, 4)})`;
  }

  protected period(test: PlannedTest, { element, timer }: Of<"period">): void {
    const { at, port, mask } = timer.flag;
    // 11 or 13 cycles for the register, 7 + 7 + 6 + 4 + 4 + 12 for the rest.
    const turn = (port ? 11 : 13) + 40;
    const wanted = Math.round(timer.every / turn);
    const slack = slackOf(wanted);
    const [first, come, count, over, bad, good] = this.labels("first", "come", "count", "over", "bad", "good");
    const flag = `${this.from(at, port)}\n and ${dollar(mask)}`;
    const until = (label: string, end: string) =>
      ` ld de,0\n${label} ${flag}\n jr nz,${end}\n inc de\n ld a,d\n or e\n jr nz,${label}\n${end}`;
    this.out.gap();
    this.out.say(`${timer.title}: turns of a loop of ${turn} cycles from one flag to the next, ${wanted} ± ${slack}.`);
    this.pokes(timer.start);
    this.clear(timer);
    this.out.code(until(first, come));
    this.clear(timer);
    this.out.code(until(count, over));
    this.out.code(` ld hl,${dollar(-(wanted - slack), 4)}\n add hl,de\n jr nc,${bad} ; too few`);
    this.out.code(` ld hl,${dollar(-(wanted + slack + 1), 4)}\n add hl,de\n jr nc,${good}`);
    this.out.code(`${bad} ld a,d\n exx\n ld d,a\n exx\n ld a,e\n exx\n ld e,a\n exx`);
    this.tell(test, element, "G", wanted);
    this.out.code(good);
  }

  private clear({ clear, flag }: TimerStep): void {
    this.pokes(clear.pokes);
    if (clear.read !== undefined) this.out.code(` ${this.from(clear.read, flag.port)} ; clears the flag`);
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
      this.out.code(` ld a,${index} ; number of the rate\n exx\n ld c,a\n exx\n jp ${echo}\n${backs[index]}`);
    }
    const status = (bit: number) => `${this.from(voice.status, voice.ports)}\n and ${dollar(bit)}`;
    const data = this.from(voice.data, voice.ports);
    const put = voice.ports ? `out (${dollar(voice.data, 2)}),a` : `ld (${dollar(voice.data, 4)}),a`;
    const turns = (label: string) => `inc de\n ld a,d\n or e\n jr nz,${label}`;
    this.out.gap();
    this.out.say("Sends each byte and waits for it.");
    this.out.code(` jp ${over}\n${echo} ${data} ; takes away what came before\n ld iy,${table}`);
    this.out.code(`${send} ld de,0\n${ready} ${status(voice.ready)}\n jr nz,${full}\n ${turns(ready)}`);
    this.out.code(
      `${full} ld a,(iy+6)\n ${put}\n ld de,0\n${wait} ${status(voice.received)}\n jr nz,${come}\n ${turns(wait)}`,
    );
    this.out.code(` ld hl,${dollar(voice.data, 4)} ; nothing came\n xor a`);
    this.markFound(test, element + 1, true, next);
    this.out.code(`${come} ${data}\n and ${dollar(mask)}\n cp (iy+6)\n jr nz,${wrong}`);
    this.onward(send);
    this.out.code(` jp ${next}\n${wrong} ld hl,${dollar(voice.data, 4)}`);
    this.markFound(test, element, true, next);
    this.out.code(`${next} exx\n ld a,c ; which rate was it?\n exx`);
    for (const [index, back] of backs.entries()) this.out.code(` cp ${index}\n jp z,${back}`);
    this.out.code(over);
  }

  /** Tells a mark that is not there, and goes on. */
  private markFound(test: PlannedTest, element: number, shown: boolean, back: string): void {
    const at = this.label("at");
    this.out.code(` ld ix,${at}\n jp found_mark`);
    this.out.code(`${at} db "${test.letter}","${elementSign(element)}",$FF,${shown ? 1 : 0}\n jp ${back}`);
  }

  protected end(): void {
    const { out } = this;
    out.gap();
    out.code(" exx\n ld a,l ; has any test?\n exx\n or a\n jp nz,some_bad\nall_good");
    this.speak("END GOOD\r\n");
    this.wait(AGAIN_SECONDS);
    out.code(" jp all_good ; says it again and again, until you switch off\nsome_bad");
    this.speak("END BAD\r\n");
    this.wait(AGAIN_SECONDS);
    out.code(" jp some_bad");
  }

  protected routines(): void {
    const { out } = this;
    out.gap();
    out.say("--- Says the text at HL up to a zero byte, and goes on at IX ---");
    out.gap();
    out.code("say");
    this.status();
    out.code(" jr z,say\n ld a,(hl)\n inc hl\n or a\n jr z,.done");
    this.put();
    out.code(" jr say\n.done jp (ix)");
    this.finding();
    if (this.usesNumbers) this.number();
  }

  private finding(): void {
    const { out } = this;
    out.gap();
    out.say("--- Tells a finding ---");
    out.say(
      "In: A what was read, HL address, C' bank or block, IX four bytes (test, element, which pattern, with a bank or not) and behind them the way back. Without a stack there are no subroutines, so each character is sent by lines of its own.",
    );
    out.gap();
    out.code(
      "found exx\n ld b,a ; B' keeps what was read\n inc de ; one more\n ld hl,$0101\n ld a,d\n or a\n jr nz,.many",
    );
    out.code(` ld a,e\n cp ${TOLD_FIRST + 1}\n jr c,.told`);
    for (const each of TOLD.filter((told) => told < 256)) out.code(` cp ${each}\n jr z,.told`);
    out.code(" jr .silent\n.many ld a,e\n or a\n jr nz,.silent\n ld a,d");
    for (const each of TOLD.filter((told) => told >= 256)) out.code(` cp ${each / 256}\n jr z,.told`);
    out.code(".silent exx ; not this one");
    this.back();
    out.code(".told exx\n jr told");
    out.code("found_mark exx\n ld b,a\n ld hl,$0101\n exx");
    out.code("told");
    this.begun();
    this.literal(" G");
    this.byte("exx\n ld a,b\n exx");
    this.literal(" W");
    out.code(` ld a,(ix+2)
 or a
 ld a,b
 jr z,.wanted
 ld a,(ix+2)
 dec a
 ld a,c
 jr z,.wanted
 ld a,(iy+6) ; neither: the mark
.wanted ld i,a ; nothing else uses I`);
    this.byte("ld a,i");
    this.literal(" A");
    this.byte("ld a,h");
    this.byte("ld a,l");
    out.code(" ld a,(ix+3)\n or a\n jr z,.line");
    this.literal(" N");
    this.byte("exx\n ld a,c\n exx");
    out.code(".line");
    this.literal("\r\n");
    this.back();
  }

  private number(): void {
    const { out } = this;
    out.gap();
    out.say("--- Tells a number ---");
    out.say("In: DE' the number, IX test, element, its letter, and whether the word behind that was wanted instead.");
    out.gap();
    out.code("found_number exx\n ld hl,$0101\n exx\nnumber");
    this.begun();
    this.literal(" ");
    this.send("ld a,(ix+2)");
    this.byte("exx\n ld a,d\n exx");
    this.byte("exx\n ld a,e\n exx");
    out.code(" ld a,(ix+3)\n or a\n jr z,.line");
    this.literal(" W");
    this.byte("ld a,(ix+4)");
    this.byte("ld a,(ix+5)");
    out.code(" inc ix\n inc ix ; behind the word\n.line");
    this.literal("\r\n");
    this.back();
  }

  private back(): void {
    this.out.code(" inc ix\n inc ix\n inc ix\n inc ix\n jp (ix)");
  }

  private begun(): void {
    this.send("ld a,(ix+0)");
    this.send("ld a,(ix+1)");
  }

  private status(): void {
    this.out.code(this.plan.voice.ports ? " in a,(port_status)" : " ld a,(port_status)");
    this.out.code(" and port_ready");
  }

  private put(): void {
    this.out.code(this.plan.voice.ports ? " out (port_data),a" : " ld (port_data),a");
  }

  private literal(text: string): void {
    for (const sign of text) this.send(`ld a,${sign < " " ? sign.charCodeAt(0) : `'${sign}'`}`);
  }

  /** Waits for the port, then sends what `load` puts into A. */
  private send(load: string): void {
    const wait = this.label(".w");
    this.out.code(wait);
    this.status();
    this.out.code(` jr z,${wait}\n ${load}`);
    this.put();
  }

  /** Sends a byte as two hex digits. The two additions with DAA turn 0 to 15 into the character. */
  private byte(load: string): void {
    const digit = "and 15\n add a,$90\n daa\n adc a,$40\n daa";
    this.send(`${load}\n rrca\n rrca\n rrca\n rrca\n ${digit}`);
    this.send(`${load}\n ${digit}`);
  }

  protected data(): void {
    const { out } = this;
    out.gap();
    out.say("--- Patterns, lists of marks, texts ---");
    out.gap();
    out.add("db", "$00,$55,$33,$0F", "", "patterns");
    this.lists("dw", "db");
  }

  protected vectors(_at: number): void {}
}
