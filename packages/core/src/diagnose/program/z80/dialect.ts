import type { Of, PlannedTest } from "../../plan/types.ts";
import { ECHO } from "../dialect.ts";
import { dollar } from "../source.ts";
import { TimersZ80 } from "./timers.ts";

/**
 * The Z80 has registers enough for everything: no stack, no byte of memory is relied on at any time. So a program in an EPROM
 * tests every byte, and a bad one cannot lead it astray.
 */
export class DialectZ80 extends TimersZ80 {
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

  protected echo(test: PlannedTest, step: Of<"echo">): void {
    const { element, voice, mask, marks } = step;
    const table = this.table(marks);
    const [echo, next, send, ready, full, wait, come, wrong, over] = this.labels("echo", "next", "send", ...ECHO);
    const backs = this.rates(step, (index) => ` ld a,${index} ; number of the rate\n exx\n ld c,a\n exx\n jp ${echo}`);
    const status = (bit: number) => `${this.from(voice.status, voice.ports)}\n and ${dollar(bit)}`;
    const data = this.from(voice.data, voice.ports);
    const put = voice.ports ? `out (${dollar(voice.data, 2)}),a` : `ld (${dollar(voice.data, 4)}),a`;
    const turns = (label: string) => `inc de\n ld a,d\n or e\n jr nz,${label}`;
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
}
