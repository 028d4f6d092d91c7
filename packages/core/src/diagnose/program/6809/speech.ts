import type { Interrupting, PlannedTest, Poke } from "../../plan/types.ts";
import { Dialect, elementSign, TOLD, TOLD_FIRST } from "../dialect.ts";
import { dollar } from "../source.ts";

/** Bytes from one copy of the patterns to the next. */
export const COPY = 16;

/** What the program says, and how a finding is told. */
export abstract class Speech6809 extends Dialect {
  readonly cpu = "6809";
  protected readonly registers = [
    "No memory is used, nor a stack, so that nothing depends on what is being tested. What each register is for:",
    "  X   the address",
    "  Y   the patterns: 0,Y is what stands for 0, and 1,Y its complement. There are three copies of them; it",
    "      points into the second when this test found something, into the third when an earlier one did",
    "  S   findings so far, or the list of marks      U   where a routine goes back to",
    "  DP  the bank or block                          A   what was read; B is free",
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

  /** Tells S as a number, with what was wanted, if that is known. */
  protected tell(test: PlannedTest, element: number, letter: string, wanted: number | undefined): void {
    const at = this.label("at");
    this.usesNumbers = true;
    this.out.code(` leau ${at},pcr\n lbra ${wanted === undefined ? "number" : "found_number"}`);
    const flag = wanted === undefined ? 0 : 1;
    this.out.code(`${at} fcb "${test.letter}","${elementSign(element)}","${letter}",${flag}`);
    if (wanted !== undefined) this.out.code(` fdb ${dollar(wanted, 4)}`);
  }

  protected clear({ clear }: Interrupting): void {
    this.pokes(clear.pokes);
    if (clear.read !== undefined) this.out.code(` lda >${dollar(clear.read, 4)} ; clears the flag`);
  }

  /** Tells a mark that is not there, and goes on. */
  protected markFound(test: PlannedTest, element: number, shown: boolean, back: string): void {
    const at = this.label("at");
    this.out.code(` leau ${at},pcr\n lbra found_mark`);
    this.out.code(`${at} fcb "${test.letter}","${elementSign(element)}",$FF,${shown ? 1 : 0}\n lbra ${back}`);
  }

  protected end(): void {
    const { out } = this;
    out.gap();
    out.code(" cmpy #patterns\n lbne some_bad");
    this.verdicts("lbra");
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
  protected note(): void {
    this.out.code(` cmpy #patterns+${COPY}
 blo .first
 cmpy #patterns+${2 * COPY}
 blo .noted ; it stands there already
 leay -${COPY},y
 bra .noted
.first leay ${COPY},y
.noted`);
  }

  protected finding(): void {
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

  protected number(): void {
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

  protected begun(): void {
    this.send("lda ,u");
    this.send("lda 1,u");
  }

  protected literal(text: string): void {
    for (const sign of text) this.send(`lda #${sign < " " ? sign.charCodeAt(0) : `'${sign}'`}`);
  }

  /** Waits for the port, then sends what `load` puts into A. */
  protected send(load: string): void {
    const wait = this.label(".w");
    this.out.code(`${wait} lda >port_status\n anda #port_ready\n beq ${wait}\n ${load}\n sta >port_data`);
  }

  /** Sends a byte as two hex digits. The two additions with DAA turn 0 to 15 into the character. */
  protected byte(load: string): void {
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
