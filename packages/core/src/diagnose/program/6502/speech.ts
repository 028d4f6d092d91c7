import type { Interrupting, PlannedTest, Poke } from "../../plan/types.ts";
import { Dialect, elementSign, TOLD, TOLD_FIRST } from "../dialect.ts";
import { dollar } from "../source.ts";

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

/** What the program says, and how a finding is told. */
export abstract class Speech6502 extends Dialect {
  readonly cpu = "6502";
  protected readonly registers = [
    "The zero page is tested first, by registers alone. After that a few bytes of it hold what the registers can't; they are written anew for each page, so that a byte that changes by itself cannot lead the program astray. No stack is used. What each register is for:",
    "  X  the page             Y  the byte of it",
    "  S  which pattern, counted in twos       A  what was read",
  ];
  /** Where the bytes of the zero page are now; undefined until that page is proved good. */
  protected work: number | undefined;
  protected readonly works: number[] = [];
  protected usesStuck = false;

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
  protected z(cell: Cell): string {
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

  protected told(wrong: string, routine: string, data: string, back: string): string {
    const at = this.label("at");
    const routineHere = `${routine}_${this.works.indexOf(this.work!) + 1}`;
    return `${wrong} sta ${this.z("got")}\n lda #low(${at})\n sta ${this.z("site")}\n lda #high(${at})\n sta ${this.z("site")}+1\n jmp ${routineHere}\n${at} fcb ${data}\n dw ${back}`;
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

  /** Tells `count` as a number, with what was wanted, if that is known. */
  protected tell(test: PlannedTest, element: number, letter: string, wanted: number | undefined, back: string): void {
    this.usesNumbers = true;
    const flag = wanted === undefined ? 0 : 1;
    const data = `"${test.letter}","${elementSign(element)}","${letter}",${flag}`;
    this.out.code(this.told("", wanted === undefined ? "number" : "found_number", data, back));
    if (wanted !== undefined) this.out.code(` fcb ${dollar(wanted >> 8)},${dollar(wanted & 0xff)}`);
  }

  protected clear({ clear }: Interrupting): void {
    this.pokes(clear.pokes);
    if (clear.read !== undefined) this.out.code(` lda ${dollar(clear.read, 4)} ; clears the flag`);
  }

  /** Tells a mark that is not there, and goes on. */
  protected markFound(test: PlannedTest, element: number, shown: boolean, back: string): void {
    this.out.code(this.told("", "found_mark", `"${test.letter}","${elementSign(element)}",0,${shown ? 1 : 0}`, back));
  }

  protected end(): void {
    const { out } = this;
    out.gap();
    if (this.work !== undefined)
      out.code(` lda ${this.z("any")} ; has any test?\n beq all_good_yet\n jmp some_bad\nall_good_yet`);
    this.verdicts("jmp");
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
  protected stuck(): void {
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

  protected finding(): void {
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

  protected number(): void {
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

  protected note(): void {
    this.out.code(` lda #1\n sta ${this.z("here")}\n sta ${this.z("any")}`);
  }

  /** Goes back to where the bytes behind `site` say, X and Y as they were. */
  protected back(): void {
    const site = this.z("site");
    this.out.code(
      ` lda (${site}),y\n tax\n iny\n lda (${site}),y\n sta ${site}+1\n stx ${site}\n ldx ${this.z("page")}\n ldy ${this.z("index")}\n jmp (${site})`,
    );
  }

  protected begun(): void {
    this.send(`ldy #0\n lda (${this.z("site")}),y`);
    this.send(`ldy #1\n lda (${this.z("site")}),y`);
  }

  protected literal(text: string): void {
    for (const sign of text) this.out.code(this.sent(`lda #${sign < " " ? sign.charCodeAt(0) : `'${sign}'`}`));
  }

  protected send(load: string): void {
    this.out.code(this.sent(load));
  }

  /** Waits for the port, then sends what `load` puts into A. */
  protected sent(load: string): string {
    const wait = this.label(".w");
    return `${wait} lda port_status\n and #port_ready\n beq ${wait}\n ${load}\n sta port_data`;
  }

  /** Sends a byte as two hex digits. */
  protected byte(load: string): void {
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
