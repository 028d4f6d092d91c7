import { mkdir, mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { assemble } from "@rouse/core/assemble";
import { InputError } from "@rouse/core/errors";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { benchOfJob } from "../job/index.ts";
import { jobRehearsal } from "../job/rehearsal.ts";
import { openJob } from "../store/index.ts";
import { verb } from "./rehearse.ts";
import { Desk } from "./rehearse-desk.ts";

const BENCH = `rouse: 1
name: small
computer:
  cpu: { part: MC68A09E, clock: 1 MHz }
  memory:
    main: { kind: ram, at: $0000, size: 48 KiB }
    devices: { kind: io, at: $D000, size: 256 bytes }
    monitor: { kind: rom, at: $E000, size: 8 KiB, file: roms/monitor.rom }
ports:
  one: { uart: MC6850, at: $D000, clock: 153.6 kHz, ratio: 16, format: 8N1 }
  two: { uart: MC6850, at: $D002, clock: 153.6 kHz, ratio: 16, format: 8N1 }
terminals:
  desk: { class: screen-40-small, rate: "9,600 bit/s", format: 8N1 }
  other: { class: screen-80-cursor, rate: "9,600 bit/s", format: 8N1 }
cables:
  lead: { kind: null modem, from: one, to: desk }
  second lead: { kind: null modem, from: two, to: other }
`;

/** Greets at both ports, then sends back what each of them brings. */
const ECHO = `  cpu 6809
  org $E000
start lds #$4000
  ldx #$D000
  bsr open
  ldx #$D002
  bsr open
again ldx #$D000
  bsr echo
  ldx #$D002
  bsr echo
  bra again
open lda #3
  sta ,x
  lda #$15
  sta ,x
  lda #'>
put ldb ,x
  bitb #2
  beq put
  sta 1,x
  rts
echo ldb ,x
  bitb #1
  beq none
  lda 1,x
  bra put
none rts
  org $FFFE
  fdb start
`;

let folder: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "rouse-rehearse-"));
  await mkdir(join(folder, "roms"));
  await writeFile(join(folder, "bench.yaml"), BENCH);
  const { segments, errors } = assemble(ECHO);
  expect(errors).toEqual([]);
  const rom = new Uint8Array(0x2000).fill(0xff);
  for (const { address, bytes } of segments) rom.set(bytes, address - 0xe000);
  await writeFile(join(folder, "roms/monitor.rom"), rom);
});
afterAll(() => rm(folder, { recursive: true, force: true }));

async function run(values: Record<string, unknown>): Promise<{ code: number; text: string }> {
  const lines: string[] = [];
  const out = { line: (text = "") => lines.push(text), width: 100, colour: false };
  const code = await verb.run({ positionals: [folder], values: values as never }, out);
  return { code, text: lines.join("\n") };
}

describe("rouse rehearse", () => {
  it("waits, types and prints what stands on the screen, and when each text came", async () => {
    const { code, text } = await run({ until: [">", "Tern"], type: ["Tern"] });
    expect(code).toBe(0);
    expect(text).toMatch(/^desk: 40-column/);
    expect(text).toContain(`│${">Tern".padEnd(40)}│`);
    expect(text).toMatch(/● “>” came at [\d.]+ ms\n● “Tern” came at \d+(\.\d+)? ms/);
    expect(text).toMatch(/PC E0[0-9A-F]{2}/);
  });

  it("sits at another terminal by its name, and says which there are", async () => {
    const { code, text } = await run({ until: [">", "here"], type: ["here"], terminal: "other" });
    expect(code).toBe(0);
    expect(text).toMatch(/^other: 80-column/);
    await expect(run({ terminal: "none", seconds: "1", json: true })).rejects.toThrow("there is “desk”, “other”");
  });

  it("ends with 1 where a text did not come, stops at breakpoints, and prints all for machines", async () => {
    expect((await run({ until: ["never"], seconds: "0.05" })).code).toBe(1);
    const { code, text } = await run({ break: ["$E009"], json: true });
    const told = JSON.parse(text) as { ending: string; state: { next: { address: number } }; received: string };
    expect(code).toBe(0);
    expect(told.ending).toBe("breakpoint");
    expect(told.state.next.address).toBe(0xe009);
  });

  it("names what stops the bench where a text never came", async () => {
    const path = join(folder, "bench.yaml");
    await writeFile(path, BENCH.replace("9,600 bit", "1,200 bit"));
    const { code, text } = await run({ until: [">"], seconds: "0.2" });
    await writeFile(path, BENCH);
    expect(code).toBe(1);
    expect(text).toMatch(/What stops this bench, by `rouse check`:[\s\S]*■ port-rate\/one: /);
    expect((await run({ until: ["never"], seconds: "0.2" })).text).not.toContain("■ port-rate");
  });

  it.each([{ speed: "2" }, { seconds: "soon" }, { break: ["here"] }, { until: [""] }])(
    "refuses %j with one sentence",
    async (values) => {
      await expect(run({ ...values, json: true })).rejects.toThrow(InputError);
    },
  );
});

describe("the desk of a rehearsal", () => {
  async function desk() {
    const job = await openJob(folder);
    const found = await benchOfJob(job, folder);
    if ("problem" in found) throw new Error(found.problem);
    const machine = await jobRehearsal(job, found.bench);
    let [ms, picture] = [0, ""];
    const made = new Desk(machine, {
      show: (text) => {
        picture = text;
      },
      clock: () => ms,
      trueSpeed: true,
    });
    return {
      machine,
      /** Passes a time, 40 ms at once, and gives what is shown without its control functions. */
      pass: (time: number): string => {
        for (let left = time; left > 0; left -= 40) {
          ms += 40;
          made.turn();
        }
        return picture.replace(/\u001b\[[\d;]*[A-Za-z]/g, "\n");
      },
      press: (text: string) => made.typed(Uint8Array.from(text, (each) => each.charCodeAt(0))),
      made,
    };
  }
  const KEY = "\u001f";

  it("sends keys to the machine at true speed, and shows its screen and time", async () => {
    const { pass, press, machine } = await desk();
    press("ab\x7f");
    const shown = pass(600);
    expect(shown).toContain("│>a");
    expect(shown).toContain("0.60 s, 1.0×");
    expect(machine.received("desk")).toBe(">ab\b");
  });

  it("says that there is no key for what is beyond ISO 646", async () => {
    const { pass, press, machine } = await desk();
    press("\u00c3\u00a9");
    expect(pass(400)).toContain("no key");
    expect(machine.received()).toBe(">");
  });

  it("goes to the next terminal and back", async () => {
    const { pass, press, machine } = await desk();
    press(`${KEY}t`);
    press("x");
    expect(pass(400)).toContain(`│>x`.padEnd(81));
    press(`${KEY}t`);
    expect(pass(40)).toContain("at desk");
    expect(machine.received("desk")).toBe(">");
  });

  it("pauses, steps, keeps a moment and goes back to it, and ends", async () => {
    const { pass, press, machine, made } = await desk();
    pass(200);
    press(`${KEY}k`);
    const { cycles } = machine;
    pass(200);
    press(`${KEY}b`);
    expect(machine.cycles).toBe(cycles);
    press(`${KEY}p`);
    expect(pass(200)).toContain("paused");
    expect(machine.cycles).toBe(cycles);
    press(`${KEY}s`);
    expect(machine.cycles).toBeGreaterThan(cycles);
    expect(pass(40)).toMatch(/PC E0/);
    expect(made.over).toBe(false);
    press(`${KEY}q`);
    expect(made.over).toBe(true);
  });
});
