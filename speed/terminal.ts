import { idealAbility, Scanner, Screen } from "@rouse/core/terminal";
import headless from "@xterm/headless";
import { type Measured, medianMs } from "./types.ts";

const MEGABYTE = 1e6;
const RUNS = 7;

const atLeast = (name: string, value: number, aim: number, unit: string): Measured => ({
  name,
  value,
  unit,
  aim: `≥ ${aim}`,
  met: value >= aim,
});

/** Lines of text, and the same with colours and cursor placing between the words. */
function text(bytes: number, controls: boolean): Uint8Array {
  let out = "";
  for (let line = 0; out.length < bytes; line++) {
    if (controls) out += `\u001b[${(line % 24) + 1};1H\u001b[K`;
    for (let word = 0; word < 10; word++) out += controls ? `\u001b[3${word % 8}mword${word} ` : `word${word}, `;
    out += "\r\n";
  }
  return Uint8Array.from(out, (each) => each.charCodeAt(0));
}

/** Megabytes a second of a synchronous reader. */
function rate(bytes: Uint8Array, read: () => void): number {
  read();
  return bytes.length / MEGABYTE / (medianMs(RUNS, read) / 1000);
}

async function theirRate(bytes: Uint8Array): Promise<number> {
  const times: number[] = [];
  const terminal = new headless.Terminal({ cols: 80, rows: 24, scrollback: 0, allowProposedApi: true });
  for (let run = 0; run <= RUNS; run++) {
    const start = process.hrtime.bigint();
    await new Promise<void>((done) => terminal.write(bytes, done));
    if (run > 0) times.push(Number(process.hrtime.bigint() - start) / 1e9);
  }
  return bytes.length / MEGABYTE / times.sort((a, b) => a - b)[times.length >> 1]!;
}

export async function run(): Promise<readonly Measured[]> {
  const plain = text(4 * MEGABYTE, false);
  const mixed = text(4 * MEGABYTE, true);
  const ignore = (): void => {};
  const sink = { text: ignore, control: ignore, escape: ignore, sequence: ignore, string: ignore, fault: ignore };
  const show = (bytes: Uint8Array) => rate(bytes, () => new Screen(idealAbility()).write(bytes));
  const [plainShown, mixedShown] = [show(plain), show(mixed)];
  return [
    atLeast(
      "ECMA-48 scanner, lines of text",
      rate(plain, () => new Scanner(sink).write(plain)),
      100,
      "MB/s",
    ),
    atLeast("screen model, lines of text", plainShown, 20, "MB/s"),
    atLeast("screen model over @xterm/headless, lines of text", plainShown / (await theirRate(plain)), 1, "×"),
    atLeast("screen model over @xterm/headless, many control functions", mixedShown / (await theirRate(mixed)), 1, "×"),
  ];
}
