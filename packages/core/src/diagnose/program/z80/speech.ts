import type { Interrupting, PlannedTest, Poke } from "../../plan/types.ts";
import { Dialect, elementSign, TOLD, TOLD_FIRST } from "../dialect.ts";
import { dollar } from "../source.ts";

/** What the program says, and how a finding is told. */
export abstract class SpeechZ80 extends Dialect {
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

  /** Tells DE' as a number, with what was wanted, if that is known. */
  protected tell(test: PlannedTest, element: number, letter: string, wanted: number | undefined): void {
    const at = this.label("at");
    this.usesNumbers = true;
    this.out.code(` ld ix,${at}\n jp ${wanted === undefined ? "number" : "found_number"}`);
    const flag = wanted === undefined ? "0" : `1,${dollar(wanted >> 8)},${dollar(wanted & 0xff)}`;
    this.out.code(`${at} db "${test.letter}","${elementSign(element)}","${letter}",${flag}`);
  }

  /** Reads a register into A. */
  protected from(at: number, port: boolean): string {
    return port ? `in a,(${dollar(at, 2)})` : `ld a,(${dollar(at, 4)})`;
  }

  protected clear({ clear, port }: Interrupting): void {
    this.pokes(clear.pokes);
    if (clear.read !== undefined) this.out.code(` ${this.from(clear.read, port)} ; clears the flag`);
  }

  /** Tells a mark that is not there, and goes on. */
  protected markFound(test: PlannedTest, element: number, shown: boolean, back: string): void {
    const at = this.label("at");
    this.out.code(` ld ix,${at}\n jp found_mark`);
    this.out.code(`${at} db "${test.letter}","${elementSign(element)}",$FF,${shown ? 1 : 0}\n jp ${back}`);
  }

  protected end(): void {
    const { out } = this;
    out.gap();
    out.code(" exx\n ld a,l ; has any test?\n exx\n or a\n jp nz,some_bad");
    this.verdicts("jp");
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

  protected finding(): void {
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
.wanted ld i,a ; ${this.plan.interrupts ? "I is set anew before an interrupt" : "nothing else uses I"}`);
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

  protected number(): void {
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

  protected back(): void {
    this.out.code(" inc ix\n inc ix\n inc ix\n inc ix\n jp (ix)");
  }

  protected begun(): void {
    this.send("ld a,(ix+0)");
    this.send("ld a,(ix+1)");
  }

  protected status(): void {
    this.out.code(this.plan.voice.ports ? " in a,(port_status)" : " ld a,(port_status)");
    this.out.code(" and port_ready");
  }

  protected put(): void {
    this.out.code(this.plan.voice.ports ? " out (port_data),a" : " ld (port_data),a");
  }

  protected literal(text: string): void {
    for (const sign of text) this.send(`ld a,${sign < " " ? sign.charCodeAt(0) : `'${sign}'`}`);
  }

  /** Waits for the port, then sends what `load` puts into A. */
  protected send(load: string): void {
    const wait = this.label(".w");
    this.out.code(wait);
    this.status();
    this.out.code(` jr z,${wait}\n ${load}`);
    this.put();
  }

  /** Sends a byte as two hex digits. The two additions with DAA turn 0 to 15 into the character. */
  protected byte(load: string): void {
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
